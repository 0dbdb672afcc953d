"""What a sheet says of a part's melody: its notes bar by bar, under the chords they go with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.context import (
    sounding_pitches,
    transposition_of,
    uncharted,
)
from logbook.records.melodies import by_bar, phrase_of
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry
from logbook.sheets.blocks import KEY, Block, Heading, Paragraph, Table
from logbook.sheets.signs import with_dashes, with_signs
from logbook.theory.compass import moved_note
from logbook.theory.tunes import moved_names, read_tune, tune_text

MELODY_KEY = (
    "/4 is a quarter note, /8 an eighth, a dot half as long again, t a triplet; a length holds "
    "until another is said. r is a rest, ~ holds a note into the next. C4 is middle C."
)


class MelodyBar(NamedTuple):
    """One bar of a melody: where it begins to be sung, its chords, and its notes.

    `sounding` are the notes as they sound, `read` as the player reads them (the same where the
    instrument is not written at another pitch).
    """

    bar: int
    beat: str
    chords: tuple[str, ...]
    sounding: str
    read: str


def melody_bars(
    place: PartView, chart: tuple[ChartEntry, ...], names: Mapping[str, str]
) -> tuple[MelodyBar, ...]:
    """Return a part's melody bar by bar under the chords of a chart, called as in `names`.

    Raises LogbookError where it cannot be read.
    """
    part = place.part
    bars = place.bars
    up = transposition_of(place.log, part)
    lent = replace(part, chart=chart)
    bare = {
        bar
        for section in uncharted(place.version, lent)
        for bar in range(section.start, section.start + section.bars)
    }
    found = []
    for bar, pieces in sorted(by_bar(part.melody, bars).items()):
        phrase = phrase_of(bar, pieces, bars)
        if phrase is None:
            continue
        tune = read_tune(phrase.tune)
        said = [each.name for each in tune if each.midi is not None]
        sounding = sounding_pitches(" ".join(said), part.pitched, up)
        read = [moved_note(each, up) if up else each for each in sounding]
        found.append(
            MelodyBar(
                bar,
                phrase.beat,
                () if bar in bare else _chords(chart, bar, names),
                tune_text(moved_names(tune, sounding)),
                tune_text(moved_names(tune, read)),
            )
        )
    return tuple(found)


def _chords(chart: tuple[ChartEntry, ...], bar: int, names: Mapping[str, str]) -> tuple[str, ...]:
    """The chords of a bar: the one that goes on into it, and those that begin there."""
    here = sorted((e for e in chart if e.bar == bar), key=lambda each: Fraction(each.beat))
    said = [names.get(each.voicing, each.voicing) or "-" for each in here]
    if here and Fraction(here[0].beat) == 1:
        return tuple(said)
    before = [each for each in chart if each.bar < bar]
    if not before:
        return tuple(said)
    last = max(before, key=lambda each: (each.bar, Fraction(each.beat)))
    return (names.get(last.voicing, last.voicing) or "-", *said)


def melody_blocks(melody: tuple[MelodyBar, ...], *, staff: str = "") -> list[Block]:
    """The melody as a table of bars, and before it on a staff where that can be drawn."""
    from logbook.sheets.blocks import Staff

    if not melody:
        return [Staff(staff)] if staff else []
    apart = any(each.sounding != each.read for each in melody)
    head = ("bar", "chord", *(("reads",) if apart else ()), "sounds" if apart else "notes")
    rows = tuple(
        (
            f"{each.bar}.{each.beat}" if each.beat != "1" else str(each.bar),
            with_signs(" ".join(each.chords)) if any(each.chords) else "",
            *((_printed(each.read),) if apart else ()),
            _printed(each.sounding),
        )
        for each in melody
    )
    if not any(row[1] for row in rows):
        head, rows = (head[0], *head[2:]), tuple((row[0], *row[2:]) for row in rows)
    blocks: list[Block] = [Heading(3, "Melody")]
    if staff:
        blocks.append(Staff(staff))
    return [*blocks, Table(head, rows), Paragraph(MELODY_KEY, KEY)]


def tunes_by_bar(melody: Iterable[MelodyBar]) -> dict[int, str]:
    """What the player reads in each bar of a melody, as it is printed."""
    return {
        each.bar: (f"@{each.beat} " if each.beat != "1" else "") + _printed(each.read)
        for each in melody
    }


def _printed(tune: str) -> str:
    return " ".join(_note(word) for word in tune.split())


def _note(word: str) -> str:
    name, slash, length = word.partition("/")
    return with_dashes(with_signs(name) + slash + length) if name[:1].isupper() else word


def melody_said(place: PartView, problems: list[str]) -> tuple[MelodyBar, ...]:
    """The melody of a part under its own chart, else under that of the first part that has one."""
    if not place.part.melody:
        return ()
    lender = place.part
    if not lender.chart:
        lender = next((each for each in place.version.parts if each.chart), place.part)
    names = {each.label: each.name or each.label for each in lender.voicings}
    try:
        return melody_bars(place, lender.chart, names)
    except LogbookError as error:
        problems.append(f"melody: {error}")
        return ()
