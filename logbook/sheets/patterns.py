"""What a sheet says about a picking-hand pattern: strokes under their count."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.parts import ChartEntry
from logbook.records.parts import Pattern as PatternRecord
from logbook.strings.kit import CELL_NAMES, KitPattern, is_kit, read_kit
from logbook.strings.picking import (
    STROKE_NAMES,
    GridCell,
    PickingPattern,
    grid_text,
    read_pattern,
    struck_strings,
    swing_text,
)
from logbook.strings.picking_cells import GHOST, SIGN_NAMES, SOFT
from logbook.strings.picking_count import pattern_bars, step_count
from logbook.timing.meter import COMMON_TIME, Meter
from logbook.timing.stretches import MeterAt


class PatternBar(NamedTuple):
    """One bar: what is counted on each step ("" where nothing is), and what the hand does.

    `strings` are the strings that are struck, for one chord; empty where none is meant.
    """

    counts: tuple[str, ...]
    strokes: tuple[str, ...]
    strings: tuple[str, ...] = ()


class KitBar(NamedTuple):
    """One bar of a drum pattern: what is counted on each step, and each piece with its cells."""

    counts: tuple[str, ...]
    rows: tuple[tuple[str, str], ...]


class PatternCard(NamedTuple):
    """One pattern as a sheet shows it; `key` says what its letters mean.

    `kit` are the bars of a drum pattern. `problem` is why it cannot be read; then there are no
    bars.
    """

    label: str
    grid: str
    meter: str
    feel: str
    as_written: str
    bars: tuple[PatternBar, ...] = ()
    key: tuple[tuple[str, str], ...] = ()
    said: str = ""
    problem: str = ""
    kit: tuple[KitBar, ...] = ()


class Under(NamedTuple):
    """A chord under a pattern: the players' numbers of its strings, and how many there are."""

    sounding: tuple[int, ...]
    strings: int


def pattern_card(
    record: PatternRecord,
    chart: Sequence[ChartEntry],
    meters: Sequence[MeterAt],
    under: Under | None = None,
) -> PatternCard:
    """Return the card of one pattern; it is read in the meter where the chart first uses it.

    With a chord under it, every stroke says which strings it meets.
    """
    return _card(record, _meters_tried(record, chart, meters), under)


@lru_cache(maxsize=4096)  # a pattern stands under many chords, and on several sheets
def _card(record: PatternRecord, meters: tuple[Meter, ...], under: Under | None) -> PatternCard:
    """The card of a pattern in the first of these meters in which it can be read."""
    bare = PatternCard(
        label=record.label,
        grid=record.grid,
        meter="",
        feel=record.feel,
        as_written=record.line,
        said=record.notes,
    )
    problem = ""
    for meter in meters:
        try:
            if is_kit(record.line):
                return _kit_card(bare, read_kit(record.line, record.grid, meter, record.feel))
            pattern = read_pattern(record.line, record.grid, meter, record.feel)
        except LogbookError as error:
            problem = problem or str(error)
        else:
            return bare._replace(
                grid=grid_text(pattern.grid),
                meter=str(pattern.meter),
                feel=swing_text(pattern.swing),
                bars=_bars(pattern, under),
                key=_key(pattern),
            )
    return bare._replace(problem=problem)


def _kit_card(bare: PatternCard, pattern: KitPattern) -> PatternCard:
    steps = pattern.steps_a_bar
    bars = tuple(
        KitBar(
            tuple(step_count(step * pattern.grid, pattern.meter) for step in range(steps)),
            tuple(
                (row.piece.name, "".join(row.cells[n % len(row.cells)] for n in run))
                for row in pattern.rows
            ),
        )
        for run in (range(at, at + steps) for at in range(0, pattern.steps, steps))
    )
    used = {cell for row in pattern.rows for cell in row.cells}
    return bare._replace(
        grid=grid_text(pattern.grid),
        meter=str(pattern.meter),
        feel=swing_text(pattern.swing),
        kit=bars,
        key=tuple((cell, meaning) for cell, meaning in CELL_NAMES.items() if cell in used),
    )


def _meters_tried(
    record: PatternRecord, chart: Sequence[ChartEntry], meters: Sequence[MeterAt]
) -> tuple[Meter, ...]:
    named = (each for each in chart if record.label in (each.pattern, each.voicing))
    first = min((entry.bar for entry in named), default=1)
    there = [change.meter for change in meters if change.bar <= max(first, 1)][-1:]
    tried = (*there, *(change.meter for change in meters))
    return tuple(dict.fromkeys(tried)) or (COMMON_TIME,)


def _bars(pattern: PickingPattern, under: Under | None) -> tuple[PatternBar, ...]:
    return tuple(
        PatternBar(
            tuple(column.counted for column in bar),
            tuple(column.text for column in bar),
            tuple(_strings(column.cell, under) for column in bar) if under else (),
        )
        for bar in pattern_bars(pattern)
    )


def _strings(cell: GridCell, under: Under) -> str:
    """The strings a step meets, as the hand meets them: 5, 53, 6-1."""
    met = [
        string
        for stroke in cell.strokes
        for string in struck_strings(stroke, under.sounding, under.strings)
    ]
    steps = {after - before for before, after in pairwise(met)}
    if len(met) > 2 and steps in ({1}, {-1}):
        return f"{met[0]}-{met[-1]}"
    return ("" if under.strings < 10 else " ").join(map(str, met))


def _key(pattern: PickingPattern) -> tuple[tuple[str, str], ...]:
    written = (*pattern.lead, *pattern.cells)
    cells = [one for cell in written for one in cell.split or (cell,)]
    used = {stroke.kind for cell in cells for stroke in cell.strokes}
    key = [(letter, meaning) for letter, meaning in STROKE_NAMES.items() if letter in used]
    signs = {
        ">": any(cell.accent for cell in cells),
        "<": any(cell.soft == SOFT for cell in cells),
        "( )": any(cell.soft == GHOST for cell in cells),
        "_": any(cell.palm for cell in cells),
        "{ }": any(cell.split for cell in written),
        "^": bool(pattern.lead),
        ".": any(not cell.strokes for cell in cells),
    }
    return (*key, *((sign, SIGN_NAMES[sign]) for sign, there in signs.items() if there))
