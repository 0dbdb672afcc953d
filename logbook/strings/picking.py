"""What the picking hand does in a bar or more, on a grid of a stated note value.

A pattern is a line of cells, one to a grid step. Blanks between cells are for the eye, and "|"
is a bar line:

    grid 1/8    "D.DU .UDU"      a strum with two steps left out
    grid 1/8    "p i m a m i"    an arpeggio, one bar of 6/8
    grid 1/16   ">B... x... b..."   and so on

===== ============================================ =============================================
cell  stroke                                       strings struck unless digits name others
===== ============================================ =============================================
D U   strum down, up                               every string sounding, from the low or high end
d u   the same on damped strings                   every string of the instrument
B b   bass string; the other bass string           the lowest sounding; the next one up
p     thumb                                        the lowest sounding
i m a index, middle, ring finger                   3, 2, 1 (common practice, no source)
P     pinch: thumb and a finger at once            the lowest and the highest sounding
x     muted hit: the hand stops the strings        none rings
*     hit with the notes left ringing              none is struck anew
.     no stroke, what sounds goes on               none
r     rest: the strings are stopped                none
===== ============================================ =============================================

Digits after a letter name strings, 1 the highest: "p5", "D432". Square brackets hold fingers and
hits that fall at once: "[pm]", "[p5x]". ">" before a cell is an accent: ">D".

A grid is a note value, "1/16" or "16ths", and its triplet "1/8t" or "8th triplets" (the same as
"1/12"). Swing lengthens the first of every two steps: "swing" is 2:1, "swing 3:2" gentler,
"straight" (or nothing) even. The count is of the meter's written beats: 1 e & a in sixteenths of
4/4, 1 to 6 in eighths of 6/8, 1 & a in triplets (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.strings.picking_cells import (
    STROKE_NAMES,
    TAKES_STRINGS,
    GridCell,
    Stroke,
    read_cells,
)
from logbook.timing.meter import COMMON_TIME, Meter
from logbook.timing.tempo import Tempo

__all__ = [
    "STRAIGHT",
    "STROKE_NAMES",
    "GridCell",
    "PickingPattern",
    "PlacedCell",
    "Stroke",
    "count_labels",
    "grid_text",
    "parse_grid",
    "parse_swing",
    "pattern_lines",
    "pattern_text",
    "read_pattern",
    "struck_strings",
    "swing_text",
]

STRAIGHT = Fraction(1)
_USUAL_STRINGS = {"i": 3, "m": 2, "a": 1}
_OFFBEATS = {
    Fraction(1, 2): "&",
    Fraction(1, 4): "e",
    Fraction(3, 4): "a",
    Fraction(1, 3): "&",
    Fraction(2, 3): "a",
}
_GRID_WORDS = {"quarter": "1/4", "eighth": "1/8", "sixteenth": "1/16", "thirty-second": "1/32"}
_GRID_FORMS = 'write a note value, as in "1/8", "16ths" or "1/8t"'
_SWING_FORMS = 'write "straight", "swing", or the lengths as in "swing 3:2"'


class PlacedCell(NamedTuple):
    """A step with strokes, `start` whole notes after the pattern's beginning, swing included."""

    start: Fraction
    cell: GridCell


@dataclass(frozen=True, slots=True, kw_only=True)
class PickingPattern:
    """A picking-hand pattern: `cells` on a `grid` (fraction of a whole note) in `meter`.

    `swing` is how many times as long the first of two steps is as the second, 1 for straight.
    Raises LogbookError when the cells do not fill whole bars or the grid cannot swing.
    """

    cells: tuple[GridCell, ...]
    grid: Fraction
    meter: Meter = COMMON_TIME
    swing: Fraction = STRAIGHT

    def __post_init__(self) -> None:
        steps = self.meter.bar_length / self.grid
        if steps.denominator != 1:
            raise LogbookError(
                f"a grid of {self.grid} does not divide a bar of {self.meter}",
                f"use a note value that does, such as {self.meter.beat_length}",
            )
        if not self.cells or len(self.cells) % steps:
            raise LogbookError(
                f"the pattern has {len(self.cells)} steps of {grid_text(self.grid)}, "
                f"and a bar of {self.meter} has {steps}",
                f"write {steps} steps for one bar, {2 * steps} for two",
            )
        if self.swing < 1:
            raise LogbookError(f"a swing of {self.swing} shortens the first step", _SWING_FORMS)
        beat_steps = self.meter.felt_beat_length / self.grid
        if self.swing != 1 and (beat_steps.denominator != 1 or beat_steps % 2):
            raise LogbookError(
                f"a grid of {self.grid} in {self.meter} has no pairs of steps to swing",
                "swing a grid with an even number of steps a beat, or play straight",
            )

    @property
    def bars(self) -> int:
        """How many bars the pattern lasts."""
        return int(len(self.cells) * self.grid / self.meter.bar_length)

    @property
    def steps_a_bar(self) -> int:
        """Grid steps in a bar."""
        return int(self.meter.bar_length / self.grid)

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return len(self.cells) * self.grid

    def step_start(self, step: int) -> Fraction:
        """Where a step begins, in whole notes from the pattern's beginning, swing included."""
        if step % 2 and self.swing != 1:
            return (step - 1) * self.grid + 2 * self.grid * self.swing / (self.swing + 1)
        return step * self.grid

    def placed(self) -> tuple[PlacedCell, ...]:
        """Every step with strokes (rests included) and where it falls."""
        return tuple(
            PlacedCell(self.step_start(step), cell)
            for step, cell in enumerate(self.cells)
            if cell.strokes
        )

    def strokes_a_second(self, tempo: Tempo) -> float:
        """How many strokes a second the hand makes at `tempo`, on average; a chord is one."""
        struck = sum(cell.is_struck for cell in self.cells)
        return float(struck * tempo.wholes_a_second / self.length)

    def fastest_strokes_a_second(self, tempo: Tempo) -> float:
        """The pace of the two strokes that follow each other most quickly, at `tempo`.

        The pattern is taken to repeat; 0 when nothing is struck.
        """
        starts = [each.start for each in self.placed() if each.cell.is_struck]
        if not starts:
            return 0.0
        starts.append(starts[0] + self.length)
        shortest = min(after - start for start, after in pairwise(starts))
        return float(tempo.wholes_a_second / shortest)

    def __str__(self) -> str:
        return pattern_text(self)


def read_pattern(
    strokes: str, grid: str, meter: Meter = COMMON_TIME, swing: str = ""
) -> PickingPattern:
    """Read a pattern from its line, grid and swing, for music in `meter`.

    Raises LogbookError when one cannot be read, the steps do not fill whole bars, a bar line
    stands elsewhere than between bars, or the grid cannot swing.
    """
    cells, bar_lines = read_cells(strokes)
    pattern = PickingPattern(
        cells=cells, grid=parse_grid(grid), meter=meter, swing=parse_swing(swing)
    )
    for step in bar_lines:
        if step % pattern.steps_a_bar:
            raise LogbookError(
                f'a bar line in "{strokes}" stands after {step} steps',
                f"a bar of {meter} on this grid has {pattern.steps_a_bar}",
            )
    return pattern


def parse_grid(text: str) -> Fraction:
    """Read "1/16", "16ths", "1/8t" or "8th triplets" as a fraction of a whole note.

    Raises LogbookError when it is no note value.
    """
    body = text.strip().lower()
    triplet = False
    for ending in ("triplets", "triplet", "t"):
        if body.endswith(ending):
            body, triplet = body.removesuffix(ending).strip(), True
            break
    for ending in ("ths", "th", "nds", "nd"):
        if body.endswith(ending) and body[:1].isdecimal():
            body = "1/" + body.removesuffix(ending).strip()
            break
    body = _GRID_WORDS.get(body.removesuffix("s"), body)
    one, _, value = body.partition("/")
    if one.strip() != "1" or not value.strip().isdecimal() or not 1 <= read_whole(value) <= 192:
        raise LogbookError(f'"{text}" is not a grid', _GRID_FORMS)
    return Fraction(1, read_whole(value)) * (Fraction(2, 3) if triplet else 1)


def grid_text(grid: Fraction) -> str:
    """A grid as `parse_grid` reads it back: "1/16", or "1/8t" for triplets."""
    if grid.denominator % 3 == 0:
        return f"{grid * 3 / 2}t"
    return f"1/{grid.denominator}"


def parse_swing(text: str) -> Fraction:
    """Read "", "straight", "swing" or "swing 3:2" as long step over short step.

    Raises LogbookError when it is none of these, or the first step would be the shorter.
    """
    body = text.strip().lower()
    if body in ("", "straight"):
        return STRAIGHT
    lengths = body.removeprefix("swing").strip() or "2:1"
    long, colon, short = lengths.partition(":")
    if colon and long.strip().isdecimal() and short.strip().isdecimal() and read_whole(short):
        ratio = Fraction(read_whole(long), read_whole(short))
        if ratio >= 1:
            return ratio
    raise LogbookError(f'"{text}" is not a way to swing', _SWING_FORMS)


def swing_text(swing: Fraction) -> str:
    """A swing as `parse_swing` reads it back: "straight" or "swing 2:1"."""
    return "straight" if swing == 1 else f"swing {swing.numerator}:{swing.denominator}"


def pattern_text(pattern: PickingPattern) -> str:
    """The line `read_pattern` reads back, in groups of a felt beat, with bar lines."""
    cuts = [*_group_steps(pattern), pattern.steps_a_bar]
    return " | ".join(
        " ".join("".join(bar[start:end]) for start, end in pairwise(cuts))
        for bar in _by_bar([str(cell) for cell in pattern.cells], pattern.steps_a_bar)
    )


def _group_steps(pattern: PickingPattern) -> list[int]:
    """The step each felt beat, or each group of a meter that has uneven ones, begins with."""
    meter = pattern.meter
    starts = [start * meter.beat_length for start in meter.group_starts]
    if len(set(meter.groups)) < 2:
        starts = [n * meter.felt_beat_length for n in range(meter.felt_beats)]
    steps = [start / pattern.grid for start in starts]
    return [int(step) for step in steps] if all(s.denominator == 1 for s in steps) else [0]


def count_labels(pattern: PickingPattern) -> tuple[str, ...]:
    """What is counted on each step: "1", "e", "&", "a", or "" where nothing is."""
    labels = []
    for step in range(len(pattern.cells)):
        beats = step % pattern.steps_a_bar * pattern.grid / pattern.meter.beat_length
        beat, part = divmod(beats, 1)
        labels.append(_OFFBEATS.get(part, "") if part else str(pattern.meter.count_of(beat + 1)))
    return tuple(labels)


def pattern_lines(pattern: PickingPattern, width: int = 80) -> list[str]:
    """The strokes under their count, aligned: a count line and a stroke line for each row.

    A row holds as many bars as fit `width` columns, divided by "|". A bar too wide for a row is
    broken between felt beats, and a beat too wide for one stands alone in its row.
    """
    labels = count_labels(pattern)
    tokens = [str(cell) for cell in pattern.cells]
    cell_width = max(map(len, (*labels, *tokens)))
    bar_width = pattern.steps_a_bar * (cell_width + 1) - 1
    bars_a_row = max((width + 3) // (bar_width + 3), 1)
    lines = []
    for first in range(0, pattern.bars, bars_a_row):
        for row in (labels, tokens):
            bars = _by_bar(row, pattern.steps_a_bar)[first : first + bars_a_row]
            cells = [[each.ljust(cell_width) for each in bar] for bar in bars]
            lines.append(" | ".join(" ".join(bar) for bar in cells).rstrip())
    if bar_width <= width:
        return lines
    return _broken(lines, _row_steps(pattern, width, cell_width) * (cell_width + 1))


def _row_steps(pattern: PickingPattern, width: int, cell_width: int) -> int:
    """How many steps of a bar too wide for a row go in one: whole felt beats, if these are so."""
    beat = pattern.meter.felt_beat_length / pattern.grid
    steps = int(beat) if beat.denominator == 1 else 1
    return max((width + 1) // ((cell_width + 1) * steps), 1) * steps


def _broken(lines: Sequence[str], columns: int) -> list[str]:
    """Pairs of lines, each pair broken after every so many columns."""
    broken = []
    for count, stroke in zip(lines[::2], lines[1::2], strict=True):
        for at in range(0, len(stroke), columns):
            broken += [count[at : at + columns].rstrip(), stroke[at : at + columns].rstrip()]
    return broken


def struck_strings(stroke: Stroke, sounding: Iterable[int], string_count: int) -> tuple[int, ...]:
    """The strings a stroke sounds, in the order the hand meets them, 1 the highest.

    `sounding` are the strings the voicing plays or leaves open; strings named in the pattern but
    not among them stay silent, and a finger whose usual string is silent takes the nearest one.
    Muted strums meet every string; hits and rests sound none.
    """
    low_to_high = sorted(set(sounding), reverse=True)
    if stroke.kind in "du":
        every = stroke.strings or tuple(range(string_count, 0, -1))
        return tuple(sorted(every, reverse=stroke.kind == "d"))
    if stroke.kind not in TAKES_STRINGS or not low_to_high:
        return ()
    if stroke.strings:
        chosen = [string for string in low_to_high if string in stroke.strings]
    elif stroke.kind in "Bp":
        chosen = low_to_high[:1]
    elif stroke.kind == "b":
        chosen = low_to_high[1:2] or low_to_high
    elif stroke.kind == "P":
        chosen = sorted({low_to_high[0], low_to_high[-1]}, reverse=True)
    elif stroke.kind in _USUAL_STRINGS:
        usual = _USUAL_STRINGS[stroke.kind]
        chosen = [min(low_to_high, key=lambda string: (abs(string - usual), string))]
    else:
        chosen = low_to_high
    return tuple(reversed(chosen)) if stroke.kind == "U" else tuple(chosen)


def _by_bar(items: Sequence[str], steps: int) -> list[Sequence[str]]:
    return [items[at : at + steps] for at in range(0, len(items), steps)]
