"""`logbook take --band`: one pass of the band, a take of every part that played in it."""

from __future__ import annotations

from typing import Any

from logbook.cli.log import changing
from logbook.cli.printing import print_json, remark, say
from logbook.errors import LogbookError


def log_band(
    words: list[str],
    punch: list[str],
    song: str,
    version: str,
    session: str,
    number: int | None,
    as_json: bool,
) -> None:
    """Log the pass and say for which parts; all of it is one change, and one undo.

    Raises LogbookError where no part plays in these bars, or the number is taken.
    """
    from logbook.cli.noun_place import find_place
    from logbook.cli.take_session import session_for
    from logbook.cli.take_words import read_words
    from logbook.notebook.applying import StoreKnown
    from logbook.notebook.lines.mean_takes import band_told
    from logbook.notebook.nouns import NOUNS
    from logbook.notebook.read import read_fields
    from logbook.records import Log, Part
    from logbook.records.band import band_of
    from logbook.store.reading import read_rows
    from logbook.store.writing import next_take, put

    said = {"song": song, "version": version, "session": session}
    with changing() as (_, change):
        owner = find_place(change.connection, "part", {k: v for k, v in said.items() if v})
        song_record, version_record = owner.records
        instruments = tuple(row.record for row in read_rows(change.connection, "instrument"))
        if not version_record.parts:
            raise LogbookError(
                f"{version_record.name} has no part yet", "add the band: logbook part add guitar"
            )
        read, punched, told_more = read_words(words, (*owner.records, Part(name="")))
        table: dict[str, Any] = {**read, "punch": [*punched, *punch], "number": 1}
        context = owner.context(StoreKnown(change.connection)).inside(version_record.parts[0])
        table["session"] = session
        take = read_fields(NOUNS["take"], table, context)  # a slip is told before a question
        table["session"] = session or session_for(change, owner)
        take = read_fields(NOUNS["take"], table, context)
        band = band_of(Log(instruments=instruments), version_record, take.bars)
        if not band.played:
            raise LogbookError(
                f"nobody plays in bars {take.bars}", "look at the charts, or name a part"
            )
        places = {each.name: owner.place._replace(part=each.name) for each in band.played}
        table["number"] = number or max(
            next_take(change, place, take.session) for place in places.values()
        )
        for part in band.played:
            taken = {each.number for each in part.takes if each.session == take.session}
            if number in taken:
                raise LogbookError(
                    f"take {number} of {part.name} already exists",
                    "leave --number out for the next one",
                )
        take = read_fields(NOUNS["take"], table, context)
        for place in places.values():
            put(change, take, place)
    if as_json:
        out = [(name, why) for name, why in band.left_out]
        print_json(
            {
                "place": [song_record.title, version_record.name],
                "parts": list(places),
                "left_out": [{"part": name, "why": why} for name, why in out],
                "take": take,
            }
        )
        return
    say(band_told(take, list(places), band.left_out))
    for each in told_more:
        remark(each)
