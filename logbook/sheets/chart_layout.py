"""How a chart is laid out on pages: what is drawn at which size, in which line, on which page.

Sizes are in points (1/72 inch). Four bars make a line where their names fit, else two or one.
Where a chart is longer than its page, the next begins at a section, or within one that no page
holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from logbook.sheets.beat_places import Needs, least_wide, spread
from logbook.sheets.blocks import Chart
from logbook.sheets.charts import BARS_A_ROW, REST, ChartBar, ChartChord
from logbook.sheets.folded import Folded
from logbook.sheets.line_breaks import fewest_lines, halved
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.svg_marks import text_width
from logbook.sheets.svg_words import tune_places, word_places, word_rows

_Bars = tuple[ChartBar, ...]

LEAST_TEXT = 8.0
NUMBERS = 20.0
_SHAPE = 0.72  # of a chord name's height
_SLASH = 0.5  # of a chord name's height, from one slash to the next


class TextSizes(NamedTuple):
    """The heights of text: `chord` the larger names, `under` the smaller, `small` the rest.

    `tight` sets names of the same height closer to the slashes and to each other.
    """

    chord: float
    stage: bool = False
    tight: bool = False

    @property
    def band(self) -> float:
        """How high bar lines are."""
        return self.chord * (0.76 if self.tight else 0.95)

    @property
    def names(self) -> float:
        """How far above the foot of the slashes the larger names stand."""
        return self.chord * (0.86 if self.tight else 1.05)

    @property
    def over(self) -> float:
        """How far above the foot of the slashes the marks stand."""
        return self.band + self.chord * (0.95 if self.tight else 1.15)

    @property
    def gap(self) -> float:
        """What is left free below a line."""
        return self.chord * (0.1 if self.tight else 0.45)

    @property
    def narrowest(self) -> float:
        """How wide a bar is at least."""
        return self.small * (4.6 if self.tight else 6.0)

    @property
    def under(self) -> float:
        """The names below."""
        return max(self.chord * _SHAPE, LEAST_TEXT)

    @property
    def small(self) -> float:
        """Marks, bar numbers and remarks."""
        return max(self.chord * 0.55, 9.0 if self.stage else LEAST_TEXT)


class LaidLine(NamedTuple):
    """A line of bars and how wide each is; `ending` is the number of the ending, 0 for none.

    `upbeat` is how many of its bars come before the section's first, `shared` how many before the
    ending, `second` how many before a second ending in the same line, 0 for none.
    """

    bars: tuple[ChartBar, ...]
    widths: tuple[float, ...]
    ending: int = 0
    closes: bool = False
    upbeat: int = 0
    shared: int = 0
    second: int = 0

    @property
    def brackets(self) -> tuple[tuple[int, int, int], ...]:
        """The endings in it: the number of each, its first bar's place and the one after it."""
        if not self.ending:
            return ()
        if not self.second:
            return ((self.ending, self.shared, len(self.bars)),)
        return ((1, self.shared, self.second), (2, self.second, len(self.bars)))

    @property
    def wide(self) -> float:
        """How far it reaches from the left edge."""
        return NUMBERS + sum(self.widths)


class LaidSection(NamedTuple):
    """A section with its lines; `goes_on` says that it began on the page before."""

    folded: Folded
    lines: tuple[LaidLine, ...]
    goes_on: bool = False


class Naming(NamedTuple):
    """Which names of a chord are drawn, and which of them `big`."""

    with_shapes: bool
    with_labels: bool
    big: str

    def names(self, chord: ChartChord) -> tuple[str, str]:
        """The larger and the smaller name of a chord."""
        if chord.concert == REST:
            return "", ""
        concert = with_signs(chord.concert)
        below = with_signs(chord.shape) or "?" if self.with_shapes else ""
        if self.with_labels:
            below = f"{below} {chord.own_label}".strip()
        if self.big == "shapes" and below:
            return below, concert
        return concert, below

    @property
    def two_lines(self) -> bool:
        """Whether names stand below the bars as well."""
        return self.with_shapes or self.with_labels


class Shown(NamedTuple):
    """What of a chart is drawn, and how wide."""

    naming: Naming
    width: float


def shown(chart: Chart, width: float, big: str) -> Shown:
    """Return what of a chart is drawn; `big` says which names are the larger ones."""
    return Shown(Naming(chart.with_shapes, chart.with_labels, big), width)


def lay_section(
    folded: Folded, sizes: TextSizes, shows: Shown, a_line: int = BARS_A_ROW
) -> LaidSection:
    """Break a section into lines of so many bars; what does not fit makes two lines, or four.

    A first ending goes on in the line before it where there is room.
    """
    if not folded.section.has_bars:
        return LaidSection(folded, ())
    bars = [bar for row in folded.section.rows for bar in row]
    every = [*bars, *(bar for ending in folded.endings for bar in ending)]
    room = shows.width - NUMBERS - 1 - _upbeat_width(folded.upbeat, sizes, shows)
    narrowest = sizes.narrowest
    needed = {bar.bar: _needed(bar, sizes, shows, narrowest) for bar in every}

    def lines_of(some: _Bars) -> list[tuple[_Bars, int]]:
        needs = [needed[bar.bar] for bar in some]
        counts = halved(needs, a_line, room)
        if sizes.tight and len(counts) > len(fewest := fewest_lines(needs, a_line, room)):
            counts = fewest
        ends = [0, *accumulate(count for count, _ in counts)]
        return [
            (some[start:end], wide)
            for start, end, (_, wide) in zip(ends, ends[1:], counts, strict=False)
        ]

    lines = [
        LaidLine(here, _widths([needed[bar.bar] for bar in here], count, room), number)
        for number, some in enumerate((tuple(bars), *folded.endings))
        for here, count in lines_of(some)
    ]
    for number in (1, 2):
        for at in range(1, len(lines)):
            before, ending = lines[at - 1 : at + 1]
            joined = (*before.bars, *ending.bars)
            needs = [needed[bar.bar] for bar in joined]
            fits = len(joined) <= a_line and sum(needs) <= room
            if ending.ending == number and before.ending == number - 1 and fits:
                widths, shared = _widths(needs, a_line, room), len(before.bars)
                lines[at - 1 : at + 1] = [
                    LaidLine(joined, widths, 1, shared=shared)
                    if number == 1
                    else before._replace(bars=joined, widths=widths, second=shared)
                ]
                break
    if folded.upbeat:
        lines[0] = _after_upbeat(folded.upbeat, lines[0], sizes, shows)
    if lines:
        lines[-1] = lines[-1]._replace(closes=True)
    return LaidSection(folded, tuple(lines))


def _upbeat_width(upbeat: _Bars, sizes: TextSizes, shows: Shown) -> float:
    """How wide a pick-up is: as its names and beats need, but no more."""
    return sum(
        max(_needed(bar, sizes, shows, 0.0), sizes.chord * (bar.beats - bar.first_beat + 1.4))
        for bar in upbeat
    )


def _after_upbeat(upbeat: _Bars, line: LaidLine, sizes: TextSizes, shows: Shown) -> LaidLine:
    """The first line of a section with the pick-up before it."""
    wide = _upbeat_width(upbeat, sizes, shows) / len(upbeat)
    widths = ((wide,) * len(upbeat)) + line.widths
    return line._replace(
        bars=(*upbeat, *line.bars),
        widths=widths,
        upbeat=len(upbeat),
        shared=line.shared + len(upbeat) if line.shared else 0,
        second=line.second + len(upbeat) if line.second else 0,
    )


def _widths(needed: Sequence[float], a_line: int, room: float) -> tuple[float, ...]:
    """How wide the bars of a line are: alike where that will do, else each as it needs.

    A line with fewer bars than the others keeps the width of theirs.
    """
    alike = room / a_line
    if max(needed) <= alike:
        return (alike,) * len(needed)
    if sum(at_least := [max(each, alike) for each in needed]) <= room:
        return tuple(at_least)
    rest = max(room - sum(needed), 0.0) if len(needed) == a_line else 0.0
    return tuple(each + rest / len(needed) for each in needed)


def _needed(bar: ChartBar, sizes: TextSizes, shows: Shown, least: float) -> float:
    """How wide a bar must be, `least` or so that its names do not touch, each where its beat is."""
    needs = needs_of(bar, sizes, shows.naming)
    if sizes.tight:
        return max(least, least_wide(needs)) + sizes.chord * 0.4
    end = 1.0
    for start, wide in reversed(needs):
        least = max(least, wide / (end - start))
        end = start
    return least + sizes.chord * 0.4


def needs_of(bar: ChartBar, sizes: TextSizes, naming: Naming) -> Needs:
    """Return how wide each stretch of a bar is at least, for its name and its slashes."""
    height, under = sizes.chord, sizes.under
    a_slash = height * _SLASH if sizes.tight else 0.0
    needs = []
    for start, large, small, slashes in _stretches(bar, naming):
        wide = 0.0
        if large or small:
            wide = max(text_width(large, height, bold=True), text_width(small, under))
            wide += height * 0.35
        needs.append((start, max(wide, slashes * a_slash)))
    return tuple(needs)


@lru_cache(maxsize=4096)  # a bar is tried at many sizes
def _stretches(bar: ChartBar, naming: Naming) -> tuple[tuple[float, str, str, int], ...]:
    """Where each chord of a bar begins, from 0 to 1, its larger and smaller name, its slashes."""
    beats = bar.beats - bar.first_beat + 1
    step = bar.pulse if beats % bar.pulse == 0 else 1
    placed = [(where, *naming.names(chord)) for where, chord in places_of(bar)]
    if placed and placed[0][0] > 0:
        placed.insert(0, (Fraction(0), "", ""))
    ends = (*(where for where, *_ in placed[1:]), Fraction(1))
    return tuple(
        (
            float(where),
            large,
            small,
            sum(where <= Fraction(beat, beats) < end for beat in range(0, beats, step)),
        )
        for (where, large, small), end in zip(placed, ends, strict=False)
    )


@lru_cache(maxsize=2048)
def places_of(bar: ChartBar) -> tuple[tuple[Fraction, ChartChord], ...]:
    """Where in a bar, from 0 to 1, each of its chords begins."""
    beats = bar.beats - bar.first_beat + 1
    held = ((Fraction(0), bar.held),) if bar.held is not None and bar.chords else ()
    return held + tuple(
        (max((Fraction(chord.beat) - bar.first_beat) / beats, Fraction(0)), chord)
        for chord in bar.chords
    )


def _marks_of(bar: ChartBar) -> str:
    return with_dashes(bar.said)


def line_height(line: LaidLine, sizes: TextSizes, shows: Shown) -> float:
    """How high a line is with what stands over and under it."""
    marked = line.ending or any((bar.marks or bar.notes) and bar.said for bar in line.bars)
    over = sizes.small * 1.5 * (_mark_rows(line, sizes, shows) if marked else 0) + lift(line, sizes)
    below = sizes.under * 1.2 if shows.naming.two_lines else 0.0
    words = words_height(line, sizes, shows)
    return over + sizes.over - sizes.chord * 0.05 + below + words + sizes.gap


def lift(line: LaidLine, sizes: TextSizes) -> float:
    """How much higher the marks stand where the bracket of an ending is between them and names."""
    return sizes.small * 0.4 if sizes.tight and line.ending else 0.0


def least_height(folded: Folded, sizes: TextSizes, shows: Shown, a_line: int) -> float:
    """How high a section is at least, at so many bars a line: with no mark and no word."""
    high = head_height(sizes)
    if not folded.section.has_bars:
        return high
    bars = sum(map(len, folded.section.rows))
    endings = sum(-(-len(ending) // a_line) for ending in folded.endings)
    lines = -(-bars // a_line) + max(endings - 2, 0)  # two endings may share a line with more
    return high + lines * _plain_height(sizes, shows)


@lru_cache(maxsize=256)
def _plain_height(sizes: TextSizes, shows: Shown) -> float:
    """How high a line is with no mark and no word."""
    return line_height(LaidLine((), ()), sizes, shows)


def words_of(line: LaidLine, sizes: TextSizes, shows: Shown) -> list[tuple[float, str, int]]:
    """Where each piece of the words under a line begins, the piece, and its row from 0.

    The notes of a melody stand above the words, each bar's within the bar.
    """
    if not _has_words(line):
        return []
    tune = list(
        tune_places(
            line.bars,
            line.widths,
            left=NUMBERS,
            wide=lambda said: text_width(said, sizes.under),
        )
    )
    rows = word_rows(tune)
    placed = word_places(
        line.bars,
        line.widths,
        left=NUMBERS,
        right=shows.width,
        wide=lambda said: text_width(said, sizes.under),
        into=lambda bar, room: spread(needs_of(bar, sizes, shows.naming), room),
    )
    return [*tune, *((x, said, rows + row) for x, said, row in placed)]


def _has_words(line: LaidLine) -> bool:
    return any(bar.words or bar.tune for bar in line.bars)


def words_height(line: LaidLine, sizes: TextSizes, shows: Shown) -> float:
    """How much room the words under a line take."""
    if not _has_words(line):
        return 0.0
    rows = word_rows(words_of(line, sizes, shows))
    return sizes.under * 1.25 * rows + (sizes.under * 0.2 if rows else 0.0)


def _mark_rows(line: LaidLine, sizes: TextSizes, shows: Shown) -> int:
    return max((row for *_, row in mark_places(line, sizes, shows)), default=0) + 1


def mark_places(line: LaidLine, sizes: TextSizes, shows: Shown) -> Iterator[tuple[float, str, int]]:
    """Where what stands over the bars begins, and in which row, so that none runs into another."""
    ends: list[float] = []
    start = NUMBERS
    for number, bar in enumerate(line.bars):
        here, start = start, start + line.widths[number]
        said = _marks_of(bar)
        for ending, first, _ in line.brackets:
            if number == first:
                said = f"{ending}.  {said}".rstrip()
        if not said:
            continue
        long = text_width(said, sizes.small, bold=True) + 2
        x = max(min(here, shows.width - long), 0.0)
        row = next((at for at, end in enumerate(ends) if end <= x), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = x + long + sizes.small
        yield x, said, row


def group_height(group: LaidSection, sizes: TextSizes, shows: Shown) -> float:
    """How high a section is with its mark."""
    head = head_height(sizes)
    return head + sum(line_height(line, sizes, shows) for line in group.lines)


def head_height(sizes: TextSizes) -> float:
    """How high the mark of a section is."""
    return max(sizes.small * 1.25, 11.0) * (1.52 if sizes.tight else 1.65)


def paged(
    laid: Sequence[LaidSection], sizes: TextSizes, shows: Shown, rooms: tuple[float, float]
) -> list[list[LaidSection]]:
    """Set sections on pages; one that is longer than a page goes on where a line ends.

    `rooms` is how high the first page is, and how high every other.
    """
    pages: list[list[LaidSection]] = [[]]
    room, whole = rooms
    for group in laid:
        need = group_height(group, sizes, shows)
        if need > room and (pages[-1] or (room < whole and need <= whole)):
            pages.append([])
            room = whole
        while need > room and len(group.lines) > 1:
            kept = 1
            used = head_height(sizes) + line_height(group.lines[0], sizes, shows)
            while used + line_height(group.lines[kept], sizes, shows) <= room:
                used += line_height(group.lines[kept], sizes, shows)
                kept += 1
            pages[-1].append(group._replace(lines=group.lines[:kept]))
            pages.append([])
            room = whole
            group = group._replace(lines=group.lines[kept:], goes_on=True)
            need = group_height(group, sizes, shows)
        pages[-1].append(group)
        room -= need
    return pages
