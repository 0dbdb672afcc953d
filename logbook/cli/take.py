"""`logbook take`: the shortest command of all, for the next take of the current part."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import complete_part, complete_session
from logbook.cli.log import changing
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, remark, say
from logbook.cli.take_band import log_band
from logbook.cli.take_words import read_words
from logbook.errors import LogbookError

app = noun_app("take", default="add", without=("add",))
app.info.epilog = examples(
    'logbook take keeper 1-32 "the one with the long ring"', "logbook take f", "logbook take list"
)


@app.command(
    "add",
    epilog=examples(
        'logbook take keeper 1-32 "the one with the long ring"',
        "logbook take c 1-32 --punch 12 --punch '20-21 late'",
        "logbook take k B",
        "logbook take keeper 1-32 --band",
        "logbook take",
    ),
)
def add(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[RESULT] [BARS|SECTION] [NOTE]...",
            help="keeper, complete, incomplete, false start or reject, by its beginning; the "
            "bars or a section; a note. In any order, and each may be left out.",
            show_default=False,
        ),
    ] = None,
    punch: Annotated[
        list[str] | None,
        typer.Option(
            "--punch",
            metavar="BARS",
            help="Bars recorded over, with why if need be; give it again for each.",
        ),
    ] = None,
    part: Annotated[
        str,
        typer.Option(
            "--part",
            "-p",
            metavar="NAME",
            help="Another part than the current one.",
            autocompletion=complete_part,
        ),
    ] = "",
    at: Annotated[str, typer.Option("--at", "-a", hidden=True)] = "",
    session: Annotated[
        str,
        typer.Option(
            "--session",
            "-s",
            metavar="NAME",
            help="Another session.",
            autocompletion=complete_session,
        ),
    ] = "",
    song: Annotated[str, typer.Option("--song", metavar="NAME", help="Another song.")] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="Another version.")
    ] = "",
    number: Annotated[
        int | None,
        typer.Option("--number", "-n", min=1, help="Its number, if not the next one."),
    ] = None,
    clock: Annotated[
        str, typer.Option("--clock", metavar="TIME", help="The time of day it began, as in 14:32.")
    ] = "",
    band: Annotated[
        bool, typer.Option("--band", help="One pass of the band: a take of every part that played.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Log the next take of the current part; the number is given by itself."""
    from logbook.cli.first_needed import see_to_place
    from logbook.cli.noun_place import find_place
    from logbook.cli.take_session import session_for
    from logbook.notebook.applying import StoreKnown
    from logbook.notebook.nouns import NOUNS
    from logbook.notebook.read import read_fields
    from logbook.store.writing import next_take, put

    if band:
        if part or at:
            raise LogbookError("--band is a take of every part", "leave --band or --part out")
        log_band(list(words or []), list(punch or []), song, version, session, number, as_json)
        return
    whose = {"part": part or at, "song": song, "version": version, "session": session}
    with changing() as (_, change):
        see_to_place(change, "take", whose)
        owner = find_place(change.connection, "take", {k: v for k, v in whose.items() if v})
        context = owner.context(StoreKnown(change.connection))
        read, punched, told_more = read_words(list(words or []), owner.records)
        table = {**read, "punch": [*punched, *(punch or [])], "number": 1, "session": session}
        table |= {"clock": clock} if clock else {}
        # A slip in any of it is told before anybody is asked for a session.
        take = read_fields(NOUNS["take"], table, context)
        table["session"] = session or session_for(change, owner)
        take = read_fields(NOUNS["take"], table, context)
        taken = {each.number for each in owner.siblings if each.session == take.session}
        if number in taken:
            raise LogbookError(
                f"take {number} already exists", "leave --number out for the next one"
            )
        table["number"] = number or next_take(change, owner.place, take.session)
        take = read_fields(NOUNS["take"], table, context)
        put(change, take, owner.place)
    if as_json:
        print_json({"place": list(owner.titles), "take": take})
        return
    title, _, name = owner.titles
    told = [f"take {take.number} of {name}, {title}: {take.result or 'not rated yet'}"]
    if take.bars:
        told.append(f"bar{'s' if '-' in take.bars else ''} {take.bars}")
    if take.punch_ins:
        told.append("punched in at " + " and ".join(each.bars for each in take.punch_ins))
    if take.clock:
        told.append(f"began {take.clock}")
    told.append(f"session {take.session}" if take.session else "no session")
    say("; ".join([", ".join(told), *([f"note: {take.notes}"] if take.notes else [])]))
    for each in told_more:
        remark(each)


@app.command(
    "move",
    epilog=examples(
        "logbook take move 3 --to-part high",
        'logbook take move 3 --to-session "day two"',
        "logbook take move 3 --part guitar --to-version live",
    ),
)
def move(
    number: Annotated[int, typer.Argument(metavar="TAKE", help="Its number.", min=1)],
    to_part: Annotated[
        str, typer.Option("--to-part", metavar="NAME", help="The part it belongs to.")
    ] = "",
    to_session: Annotated[
        str, typer.Option("--to-session", metavar="NAME", help="The session it belongs to.")
    ] = "",
    to_version: Annotated[
        str, typer.Option("--to-version", metavar="NAME", help="The version it belongs to.")
    ] = "",
    part: Annotated[str, typer.Option("--part", "-p", metavar="NAME", help="Another part.")] = "",
    session: Annotated[
        str, typer.Option("--session", "-s", metavar="NAME", help="The session it is in.")
    ] = "",
    song: Annotated[str, typer.Option("--song", metavar="NAME", help="Another song.")] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="Another version.")
    ] = "",
) -> None:
    """Move a take, with its punch-ins and files, to another part, version or session."""
    from logbook.cli.noun_place import find_place, find_record
    from logbook.notebook.nouns import NOUNS
    from logbook.store.finding import find_owner
    from logbook.store.moving import move_take

    if not (to_part or to_session or to_version):
        raise LogbookError(
            "it is not clear where the take is to go",
            "use --to-part, --to-session or --to-version",
        )
    whose = {"part": part, "song": song, "version": version, "session": session}
    with changing() as (_, change):
        owner = find_place(change.connection, "take", {k: v for k, v in whose.items() if v})
        take, found = find_record(change.connection, NOUNS["take"], owner, str(number))
        assert found is not None
        place = owner.place
        if to_version:
            wanted = find_owner(change.connection, "version", place._replace(version=to_version))
            place = place._replace(version=wanted.name)
        if to_part or to_version:
            place = place._replace(part=to_part or place.part)
            place = place._replace(part=find_owner(change.connection, "part", place).name)
        now = move_take(change, found, place, to_session or None)
    title, _, name = owner.titles
    where = f"{place.part} of {place.version}" + (f", session {to_session}" if to_session else "")
    said = f" as take {now}" if now != number else ""
    say(f"moved take {take.number} of {name}, {title}, to {where}{said}")
    used = [each.name for each in owner.records[-1].comps if _uses(each, take)]
    if used:
        remark(f"{' and '.join(used)} of {name} has bars of it: look at the comp")


def _uses(comp: Any, take: Any) -> bool:
    return any(
        piece.take == take.number and not piece.is_elsewhere and piece.session in ("", take.session)
        for piece in comp.pieces
    )
