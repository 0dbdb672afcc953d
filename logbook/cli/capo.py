"""`logbook capo`: what each capo position would do for a line of chords, or for a song's parts.

A line of chords needs no log. What does not read as chords is a song; its parts' recorded
voicings are then held against each position.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.forms import (
    EVERY_SHEET,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
    hand_out,
)
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, PartOption, SpellingOption, VersionOption
from logbook.errors import LogbookError
from logbook.sheets.capo_tables import AskedCapo, CapoTable
from logbook.sheets.catalog import make_sheet
from logbook.strings.capo import Capos, read_capos
from logbook.strings.capo_table import CapoRow, RecordedChord, by_choice, capo_table
from logbook.strings.finder import Limits
from logbook.strings.tunings import StringTuning, read_tuning
from logbook.theory.chord_symbol import ChordSymbolError
from logbook.theory.symbols import read_symbol, reads, split_symbols
from logbook.theory.written import in_letters

if TYPE_CHECKING:
    from logbook.records.part_view import PartView

FORMS = (*EVERY_SHEET, "csv")

app = new_app(
    "Compare capo positions: the shape key, the shapes, which recorded voicings "
    "can be kept, how many strings ring open, and which one to choose.",
    examples=(
        'logbook capo "Eb Cm Ab Bb7" --key Eb',
        'logbook capo "Low Water" --part guitar --to F',
    ),
    single=True,
)


@app.command()
def capo(
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="[SONG|CHORDS]", help='A song, or chords: "Eb Cm Ab Bb7".'),
    ] = None,
    key: Annotated[
        str, typer.Option("--key", "-k", metavar="KEY", help="The concert key of the chords.")
    ] = "",
    to: Annotated[
        str, typer.Option("--to", metavar="KEY", help="A new concert key to move them to.")
    ] = "",
    tuning: Annotated[
        str, typer.Option("--tuning", "-t", metavar="NAME", help="For chords: the tuning.")
    ] = "standard",
    capo_on: Annotated[
        str,
        typer.Option("--capo", "-c", metavar="FRET", help="For chords: the capo on now."),
    ] = "0",
    spelling: SpellingOption = "letters",
    version: VersionOption = "",
    part: PartOption = "",
    highest: Annotated[
        int | None, typer.Option("--highest", metavar="FRET", help="The last position to try.")
    ] = None,
    stretch: Annotated[
        float, typer.Option("--stretch", metavar="MM", help="The reach a voicing may take.")
    ] = 100.0,
    frets: Annotated[
        bool, typer.Option("--frets", help="Print the frets of every chord as well.")
    ] = False,
    by_fret: Annotated[
        bool,
        typer.Option("--by-fret", help="In the order of the frets, not of a player's choice."),
    ] = False,
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
) -> None:
    """Compare capo positions."""
    chosen = form_of("a capo table", FORMS, form, out, as_json=as_json)
    words = split_symbols(" ".join(what or ()), spelling)
    key, to = in_letters(key, spelling), in_letters(to, spelling)
    limits = Limits(stretch_mm=stretch)
    if words and not part and not version and _are_chords(words):
        rows = _table(words, read_tuning(tuning), read_capos(capo_on), key, to, highest, limits)
        tables = [CapoTable("", key, to, rows)]
    else:
        try:
            tables = _song_tables(" ".join(what or ()), version, part, to, highest, limits)
        except LogbookError:
            if words and 2 * sum(map(reads, words)) >= len(words):  # it was meant as chords
                for word in words:
                    read_symbol(word)
            raise
    if not by_fret:
        tables = [table._replace(rows=by_choice(table.rows)) for table in tables]
    made = make_sheet("capo", AskedCapo(tuple(tables), frets))
    hand_out(made, chosen, out, open_it=open_it, paper=paper)


def _are_chords(words: Sequence[str]) -> bool:
    try:
        return bool([read_symbol(word) for word in words])
    except ChordSymbolError:
        return False


def _table(
    chords: Sequence[str | RecordedChord],
    tuning: StringTuning,
    capos: Capos,
    key: str,
    to: str,
    highest: int | None,
    limits: Limits,
) -> tuple[CapoRow, ...]:
    return capo_table(
        chords,
        tuning,
        key=key or None,
        new_key=to or None,
        capos=capos,
        highest=highest,
        limits=limits,
    )


def _song_tables(
    song: str, version: str, part: str, to: str, highest: int | None, limits: Limits
) -> list[CapoTable]:
    """Return a table for each part of a song that has voicings and a tuning."""
    from logbook.cli.song_log import read_song
    from logbook.records.part_view import PartView

    with opened(create=False) as store:
        found = read_song(store, song, version, part)
    tables = [
        table
        for each in found.versions()
        for played in found.parts(each)
        if (
            table := _part_table(PartView(found.log, found.song, each, played), to, highest, limits)
        )
    ]
    if not tables:
        raise LogbookError(
            "no part there has voicings whose chords can be named",
            "log some with their tuning, or give a line of chords",
        )
    return tables


def _part_table(place: PartView, to: str, highest: int | None, limits: Limits) -> CapoTable | None:
    from logbook.arranging.singers import melody_said
    from logbook.sheets.chords import chord_card

    tuning = place.tuning
    if tuning is None or not place.part.voicings:
        return None
    capos = place.capos
    chords: list[RecordedChord] = []
    left_out: list[str] = []
    for record in place.part.voicings:
        card = chord_card(place, record, tuning, capos)
        if card.drawn is None or not _are_chords([card.concert]):
            left_out.append(record.label)
        else:
            chords.append(RecordedChord(card.concert, card.drawn.position))
    if not chords:
        return None
    instrument = place.instrument
    if instrument is not None and instrument.scale_mm:
        limits = limits._replace(scale_mm=instrument.scale_mm)
    key = place.version.key
    rows = _table(chords, tuning, capos, key, to, highest, limits)
    sung = melody_said(place.version, place.log.people, to or key)
    return CapoTable(place.title, key, to, rows, tuple(left_out), sung)
