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
c     little finger                                1
P     pinch: thumb and a finger at once            the lowest and the highest sounding
T O   thumb slap; pop                              the lowest; the highest sounding
R     rake: damped strings, the last one rings     every string sounding, from the low end
h l   hammer-on, pull-off, not struck              the string has to be named
s S   slide up, slide down, not struck             the string has to be named
x     muted hit: the hand stops the strings        none rings
*     hit with the notes left ringing              none is struck anew
.     no stroke, what sounds goes on               none
r     rest: the strings are stopped                none
===== ============================================ =============================================

Digits after a letter name strings, 1 the highest: "p5", "D432"; strings 10 and up are written
with a plus sign: "p10+", "D11+10". Square brackets hold fingers and hits that fall at once:
"[pm]", "[p5x]", and a pick on named strings with them: "[D5 m3]". A hammer-on, pull-off or slide
arrives at the chord's note: the stroke before it on its string sounds the note it comes from,
for a hammer-on the open string, else two frets away; "h4-2" says how many frets.

">" before a cell is an accent, "<" a soft stroke, "(D)" a ghost stroke that is hardly heard, and
"_" before it a palm mute: ">_D". Braces hold cells that share the time of a step, or of several,
evenly: "{DU}" on a grid of eighths is two sixteenths, "{DUD}2" a triplet over two of them. What
stands before "^" is played before the first bar: "DU ^ D.DU .UDU". "x2" repeats: at the end of
the line all of it, before a bar line its bar.

A grid is a note value, "1/16" or "16ths", and its triplet "1/8t" or "8th triplets" (the same as
"1/12"). Swing gives every two steps unequal lengths: "swing" is 2:1, "swing 3:2" gentler, "swing
1:2" short before long, "straight" (or nothing) even. The count is of the meter's written beats:
1 e & a in sixteenths of 4/4, 1 to 6 in eighths of 6/8, 1 & a in triplets (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
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
    read_stroke_line,
    steps_of,
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
    "grid_text",
    "parse_grid",
    "parse_swing",
    "pattern_text",
    "read_pattern",
    "struck_strings",
    "swing_text",
]

STRAIGHT = Fraction(1)
_USUAL_STRINGS = {"i": 3, "m": 2, "a": 1, "c": 1}
_GRID_WORDS = {"quarter": "1/4", "eighth": "1/8", "sixteenth": "1/16", "thirty-second": "1/32"}
_GRID_FORMS = 'write a note value, as in "1/8", "16ths" or "1/8t"'
_SWING_FORMS = 'write "straight", "swing", or the lengths as in "swing 3:2" or "1:2"'


class PlacedCell(NamedTuple):
    """A step with strokes, `start` whole notes after the pattern's beginning, swing included."""

    start: Fraction
    cell: GridCell


@dataclass(frozen=True, slots=True, kw_only=True)
class PickingPattern:
    """A picking-hand pattern: `cells` on a `grid` (fraction of a whole note) in `meter`.

    `swing` is how many times as long the first of two steps is as the second, 1 for straight;
    `lead` is played before the first bar, once. Raises LogbookError when the cells do not fill
    whole bars or the grid cannot swing.
    """

    cells: tuple[GridCell, ...]
    grid: Fraction
    meter: Meter = COMMON_TIME
    swing: Fraction = STRAIGHT
    lead: tuple[GridCell, ...] = ()

    def __post_init__(self) -> None:
        steps = self.meter.bar_length / self.grid
        if steps.denominator != 1:
            raise LogbookError(
                f"a grid of {self.grid} does not divide a bar of {self.meter}",
                f"use a note value that does, such as {self.meter.beat_length}",
            )
        count = steps_of(self.cells)
        if not self.cells or count % steps:
            raise LogbookError(
                f"the pattern has {count} steps of {grid_text(self.grid)}, "
                f"and a bar of {self.meter} has {steps}",
                f"write {steps} steps for one bar, {2 * steps} for two",
            )
        if steps_of(self.lead) > steps:
            raise LogbookError(
                f"{steps_of(self.lead)} steps before the first bar are more than a bar",
                f"write {steps} or fewer before the ^",
            )
        place = 0
        for cell in self.cells:
            if place % steps + cell.steps > steps:
                raise LogbookError(f"{cell} goes over a bar line", "divide it at the bar line")
            place += cell.steps
        if self.swing <= 0:
            raise LogbookError(f"a swing of {self.swing} leaves a step no time", _SWING_FORMS)
        beat_steps = self.meter.felt_beat_length / self.grid
        if self.swing != 1 and (beat_steps.denominator != 1 or beat_steps % 2):
            raise LogbookError(
                f"a grid of {self.grid} in {self.meter} has no pairs of steps to swing",
                "swing a grid with an even number of steps a beat, or play straight",
            )

    @property
    def bars(self) -> int:
        """How many bars the pattern lasts."""
        return int(self.length / self.meter.bar_length)

    @property
    def steps_a_bar(self) -> int:
        """Grid steps in a bar."""
        return int(self.meter.bar_length / self.grid)

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return steps_of(self.cells) * self.grid

    @property
    def lead_length(self) -> Fraction:
        """Length in whole notes of what is played before the first bar."""
        return steps_of(self.lead) * self.grid

    def step_start(self, step: int | Fraction) -> Fraction:
        """Where a step begins, in whole notes from the pattern's beginning, swing included.

        A fraction is a place within a step.
        """
        pair, place = divmod(Fraction(step), 2)
        first = 2 * self.grid * self.swing / (self.swing + 1)
        if place <= 1:
            return pair * 2 * self.grid + place * first
        return pair * 2 * self.grid + first + (place - 1) * (2 * self.grid - first)

    def placed(self) -> tuple[PlacedCell, ...]:
        """Every step with strokes (rests included) and where it falls."""
        return tuple(
            PlacedCell(self.step_start(step), cell)
            for step, cell in single_cells(self.cells)
            if cell.strokes
        )

    def lead_placed(self) -> tuple[PlacedCell, ...]:
        """The same of what is played before the first bar: starts are below 0."""
        first = steps_of(self.lead)
        return tuple(
            PlacedCell(self.step_start(step - first), cell)
            for step, cell in single_cells(self.lead)
            if cell.strokes
        )

    def strokes_a_second(self, tempo: Tempo) -> float:
        """How many strokes a second the hand makes at `tempo`, on average; a chord is one."""
        struck = sum(cell.is_struck for _, cell in single_cells(self.cells))
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


def single_cells(cells: Iterable[GridCell]) -> Iterator[tuple[Fraction, GridCell]]:
    """Yield each cell with the step it falls on, and each of those that share steps."""
    step = Fraction(0)
    for cell in cells:
        for number, one in enumerate(cell.split or (cell,)):
            yield step + Fraction(cell.steps * number, len(cell.split) or 1), one
        step += cell.steps


def read_pattern(
    strokes: str, grid: str, meter: Meter = COMMON_TIME, swing: str = ""
) -> PickingPattern:
    """Read a pattern from its line, grid and swing, for music in `meter`.

    Raises LogbookError when one cannot be read, the steps do not fill whole bars, a bar line
    stands elsewhere than between bars, or the grid cannot swing.
    """
    read = read_stroke_line(strokes)
    pattern = PickingPattern(
        cells=read.cells,
        grid=parse_grid(grid),
        meter=meter,
        swing=parse_swing(swing),
        lead=read.lead,
    )
    for step in read.bar_lines:
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
    """Read "", "straight", "swing", "swing 3:2" or "swing 1:2" as first step over second.

    Raises LogbookError when it is none of these.
    """
    body = text.strip().lower()
    if body in ("", "straight"):
        return STRAIGHT
    lengths = body.removeprefix("swing").strip() or "2:1"
    long, colon, short = lengths.partition(":")
    if colon and long.strip().isdecimal() and short.strip().isdecimal():
        first, second = read_whole(long), read_whole(short)
        if first and second:
            return Fraction(first, second)
    raise LogbookError(f'"{text}" is not a way to swing', _SWING_FORMS)


def swing_text(swing: Fraction) -> str:
    """A swing as `parse_swing` reads it back: "straight" or "swing 2:1"."""
    return "straight" if swing == 1 else f"swing {swing.numerator}:{swing.denominator}"


def pattern_text(pattern: PickingPattern) -> str:
    """The line `read_pattern` reads back, in groups of a felt beat, with bar lines."""
    cuts = group_steps(pattern)
    bars: list[str] = []
    step = 0
    for cell in pattern.cells:
        place = step % pattern.steps_a_bar
        if place == 0:
            bars.append(str(cell))
        else:
            bars[-1] += (" " if place in cuts else "") + str(cell)
        step += cell.steps
    text = " | ".join(bars)
    if len(bars) > 1 and len(set(bars)) == 1:
        text = f"{bars[0]} x{len(bars)}" if len(bars) <= 64 else text
    return f"{''.join(map(str, pattern.lead))} ^ {text}" if pattern.lead else text


def group_steps(pattern: PickingPattern) -> list[int]:
    """The step each felt beat, or each group of a meter that has uneven ones, begins with."""
    meter = pattern.meter
    starts = [start * meter.beat_length for start in meter.group_starts]
    if len(set(meter.groups)) < 2:
        starts = [n * meter.felt_beat_length for n in range(meter.felt_beats)]
    steps = [start / pattern.grid for start in starts]
    return [int(step) for step in steps] if all(s.denominator == 1 for s in steps) else [0]


def struck_strings(stroke: Stroke, sounding: Iterable[int], string_count: int) -> tuple[int, ...]:
    """The strings a stroke sounds, in the order the hand meets them, 1 the highest.

    `sounding` are the strings the voicing plays or leaves open; strings named in the pattern but
    not among them stay silent, and a finger whose usual string is silent takes the nearest one.
    Muted strums meet every string; hits and rests sound none. Of a rake only the last one rings.
    """
    low_to_high = sorted(set(sounding), reverse=True)
    if stroke.kind in "du":
        every = stroke.strings or tuple(range(string_count, 0, -1))
        return tuple(sorted(every, reverse=stroke.kind == "d"))
    if stroke.kind not in TAKES_STRINGS or not low_to_high:
        return ()
    if stroke.strings:
        chosen = [string for string in low_to_high if string in stroke.strings]
    elif stroke.kind in "BpT":
        chosen = low_to_high[:1]
    elif stroke.kind == "O":
        chosen = low_to_high[-1:]
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
