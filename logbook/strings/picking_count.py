"""A pattern laid out under its count, bar by bar, as it is printed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from logbook.strings.picking import PickingPattern, group_steps
from logbook.strings.picking_cells import (
    GridCell,
    steps_of,
)
from logbook.timing.meter import Meter

_OFFBEATS = {
    Fraction(1, 2): "&",
    Fraction(1, 4): "e",
    Fraction(3, 4): "a",
    Fraction(1, 3): "&",
    Fraction(2, 3): "a",
}


class Column(NamedTuple):
    """A cell as it is drawn: what is counted on it ("" for nothing) and what is written.

    `cell` has no others in it; `beat` numbers the felt beats of its bar.
    """

    counted: str
    text: str
    cell: GridCell
    beat: int


def _label(pattern: PickingPattern, step: Fraction) -> str:
    return step_count(step % pattern.steps_a_bar * pattern.grid, pattern.meter)


def step_count(place: Fraction, meter: Meter) -> str:
    """What is counted at a place in a bar, in whole notes: "1", "e", "&", "a" or nothing."""
    beat, part = divmod(place / meter.beat_length, 1)
    return _OFFBEATS.get(part, "") if part else str(meter.count_of(beat + 1))


def pattern_bars(pattern: PickingPattern) -> list[list[Column]]:
    """The pattern as it is drawn, bar by bar; what begins before it stands first, with its "^"."""
    cuts = group_steps(pattern)
    bars: list[list[Column]] = []
    lead = steps_of(pattern.lead)
    if lead:
        first = pattern.steps_a_bar - lead
        bars.append(
            [
                Column(_label(pattern, step), text, cell, bisect_right(cuts, step))
                for step, text, cell in _written(pattern.lead, first)
            ]
        )
        bars[0].append(Column("", "^", GridCell(), bars[0][-1].beat))
    for step, text, cell in _written(pattern.cells, 0):
        bar, place = divmod(step, pattern.steps_a_bar)
        if bar + bool(lead) == len(bars):
            bars.append([])
        bars[-1].append(Column(_label(pattern, step), text, cell, bisect_right(cuts, place)))
    return bars


def _written(cells: Sequence[GridCell], first: int) -> Iterator[tuple[Fraction, str, GridCell]]:
    """Each cell with its step and as it is written; braces stand at the first and last in them."""
    step = Fraction(first)
    for cell in cells:
        count = len(cell.split)
        for number, one in enumerate(cell.split or (cell,)):
            text = str(one)
            if count:
                text = ("{" if number == 0 else "") + text
                if number == count - 1:
                    text += "}" + (str(cell.steps) if cell.steps > 1 else "")
            yield step + Fraction(cell.steps * number, count or 1), text, one
        step += cell.steps


def pattern_lines(pattern: PickingPattern, width: int = 80) -> list[str]:
    """The strokes under their count, aligned: a count line and a stroke line for each row.

    A row holds as many bars as fit `width` columns, divided by "|". A bar too wide for a row is
    broken between felt beats, and a beat too wide for one stands alone in its row.
    """
    bars = pattern_bars(pattern)
    cell_width = max(len(text) for bar in bars for each in bar for text in each[:2])
    rows: list[list[list[Column]]] = []
    for bar in bars:
        for piece in _pieces(bar, max((width + 1) // (cell_width + 1), 1)):
            used = sum(len(each) * (cell_width + 1) + 2 for each in rows[-1]) if rows else 0
            whole = piece is bar and rows and all(each in bars for each in rows[-1])
            if whole and used + len(piece) * (cell_width + 1) - 1 <= width:
                rows[-1].append(piece)
            else:
                rows.append([piece])
    lines = []
    for row in rows:
        for kind in (0, 1):
            pieces = [[str(each[kind]).ljust(cell_width) for each in piece] for piece in row]
            lines.append(" | ".join(" ".join(piece) for piece in pieces).rstrip())
    return lines


def _pieces(bar: list[Column], most: int) -> list[list[Column]]:
    """A bar, or where it has more columns than a row takes its felt beats, as many as fit."""
    if len(bar) <= most:
        return [bar]
    pieces: list[list[Column]] = []
    for _, beat in groupby(bar, key=lambda column: column.beat):
        columns = list(beat)
        if pieces and len(pieces[-1]) + len(columns) <= most:
            pieces[-1] += columns
        else:
            pieces.append(columns)
    return pieces
