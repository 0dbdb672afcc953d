"""A chart engraved on pages: chord names over the bars, heavy slashes, the shapes below.

Sizes are in points (1/72 inch). Four bars make a line where their names fit, else two or one; all
lines of a chart are drawn at one size, the largest at which it fits its page. Where the smallest
is still too large, the next page begins at a section, or within one that no page holds.

A slash is a beat, drawn heavy and slanted between the names' line and the shapes', so that it is
never a part of a chord's name. Widths of text are estimated from the widths of a sans serif
(Helvetica's metrics, rounded up, since the reader's computer may have another one).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from logbook.sheets.blocks import Chart
from logbook.sheets.charts import BARS_A_ROW, REST, ChartBar, ChartChord
from logbook.sheets.folding import CODA, SEGNO, Folded, fold
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.svg_diagram import small_diagrams
from logbook.sheets.svg_marks import SOLID, picture, tag, text
from logbook.sheets.svg_words import word_places, word_rows
from logbook.sheets.text_chart import section_about

SMALLEST, LARGEST = 11.0, 15.0
STAGE_SMALLEST, STAGE_LARGEST = 20.0, 26.0
_LEAST_TEXT = 8.0
_SHAPE = 0.72  # of a chord name's height
_NUMBERS = 20.0
_WIDE, _NARROW = "MWmw@—", "ijlt.,;:|!'()[]/ "


class Sizes(NamedTuple):
    """The heights of text: `chord` the larger names, `under` the smaller, `small` the rest."""

    chord: float
    stage: bool = False

    @property
    def under(self) -> float:
        """The names below."""
        return max(self.chord * _SHAPE, _LEAST_TEXT)

    @property
    def small(self) -> float:
        """Marks, bar numbers and remarks."""
        return max(self.chord * 0.55, 9.0 if self.stage else _LEAST_TEXT)


class _Line(NamedTuple):
    """A line of bars and how wide each is; `ending` is the number of the ending, 0 for none."""

    bars: tuple[ChartBar, ...]
    widths: tuple[float, ...]
    ending: int = 0
    closes: bool = False


class _Group(NamedTuple):
    """A section with its lines."""

    folded: Folded
    lines: tuple[_Line, ...]


def chart_pages(
    chart: Chart, *, width: float, height: float, left_handed: bool = False, big: str = "sounds"
) -> tuple[str, ...]:
    """Return a chart as pictures of at most `width` by `height` points, one to a page.

    `big` says which names are the larger ones: "sounds" or "shapes".
    """
    groups = list(fold(chart.sections))
    if not groups:
        return ()
    shows = Shown(chart, width, big)
    top, head = _diagrams(chart, width, left_handed)
    largest, smallest = (STAGE_LARGEST, STAGE_SMALLEST) if chart.stage else (LARGEST, SMALLEST)
    size = largest
    while True:
        sizes = Sizes(size, chart.stage)
        laid = [_lay(each, sizes, shows) for each in groups]
        total = head + sum(_group_height(each, sizes, shows) for each in laid)
        if total <= height or size <= smallest:
            break
        size = max(size - 0.5, smallest)
    pages = _paged(laid, sizes, shows, height, head)
    return tuple(
        _page(page, sizes, shows, top if number == 0 else [], head if number == 0 else 0.0)
        for number, page in enumerate(pages)
    )


class Shown(NamedTuple):
    """What of a chart is drawn, and how wide."""

    chart: Chart
    width: float
    big: str

    def names(self, chord: ChartChord) -> tuple[str, str]:
        """The larger and the smaller name of a chord."""
        if chord.concert == REST:
            return "", ""
        concert = with_signs(chord.concert)
        below = with_signs(chord.shape) or "?" if self.chart.with_shapes else ""
        if self.chart.with_labels and chord.label != chord.concert:
            below = f"{below} {chord.label}".strip()
        if self.big == "shapes" and below:
            return below, concert
        return concert, below

    @property
    def two_lines(self) -> bool:
        """Whether names stand below the bars as well."""
        return self.chart.with_shapes or self.chart.with_labels


def text_width(said: str, size: float) -> float:
    """Return about how wide a text is set, in the unit of its size."""
    ems = sum(
        0.95 if each in _WIDE else 0.36 if each in _NARROW else 0.72 if each.isupper() else 0.64
        for each in said
    )
    return ems * size


# Laying out


def _lay(folded: Folded, sizes: Sizes, shows: Shown) -> _Group:
    """Break a section into lines, as many bars to each as its widest bar allows, four at most."""
    if not folded.section.has_bars:
        return _Group(folded, ())
    bars = [bar for row in folded.section.rows for bar in row]
    every = [*bars, *(bar for ending in folded.endings for bar in ending)]
    room = shows.width - _NUMBERS - 1
    needed = {bar.bar: _needed(bar, sizes, shows) for bar in every}

    def fits(count: int) -> bool:
        return all(
            sum(needed[bar.bar] for bar in some[at : at + count]) <= room
            for some in (bars, *folded.endings)
            for at in range(0, len(some), count)
        )

    a_line = next((count for count in (BARS_A_ROW, 2) if fits(count)), 1)
    lines = []
    for number, some in enumerate((bars, *folded.endings)):
        for at in range(0, len(some), a_line):
            here = tuple(some[at : at + a_line])
            widths = _widths([needed[bar.bar] for bar in here], a_line, room)
            lines.append(_Line(here, widths, number))
    if lines:
        lines[-1] = lines[-1]._replace(closes=True)
    return _Group(folded, tuple(lines))


def _widths(needed: Sequence[float], a_line: int, room: float) -> tuple[float, ...]:
    """How wide the bars of a line are: alike where that will do, else each as it needs.

    A line with fewer bars than the others keeps the width of theirs.
    """
    alike = room / a_line
    if max(needed) <= alike:
        return (alike,) * len(needed)
    rest = max(room - sum(needed), 0.0) if len(needed) == a_line else 0.0
    return tuple(each + rest / len(needed) for each in needed)


def _needed(bar: ChartBar, sizes: Sizes, shows: Shown) -> float:
    """How wide a bar must be for its names not to touch, each where its beat is."""
    placed = [(where, _width(chord, sizes, shows)) for where, chord in _placed(bar)]
    least = 6 * sizes.small
    for at, (where, wide) in enumerate(placed):
        end = placed[at + 1][0] if at + 1 < len(placed) else Fraction(1)
        least = max(least, (wide + sizes.chord * 0.35) / float(end - where))
    return least + sizes.chord * 0.4


def _width(chord: ChartChord, sizes: Sizes, shows: Shown) -> float:
    large, small = shows.names(chord)
    return max(text_width(large, sizes.chord), text_width(small, sizes.under))


def _placed(bar: ChartBar) -> list[tuple[Fraction, ChartChord]]:
    """Where in a bar, from 0 to 1, each of its chords begins."""
    beats = bar.beats - bar.first_beat + 1
    held = [(Fraction(0), bar.held)] if bar.held is not None and bar.chords else []
    return held + [
        (max((Fraction(chord.beat) - bar.first_beat) / beats, Fraction(0)), chord)
        for chord in bar.chords
    ]


def _marks_of(bar: ChartBar) -> str:
    return with_dashes("  ".join((*bar.marks, *bar.notes)))


def _line_height(line: _Line, sizes: Sizes, shows: Shown) -> float:
    marked = any(_marks_of(bar) for bar in line.bars) or line.ending
    over = sizes.small * 1.5 * (_mark_rows(line, sizes, shows) if marked else 0)
    below = sizes.under * 1.2 if shows.two_lines else 0.0
    return (
        over + sizes.chord * 2.05 + below + _words_height(line, sizes, shows) + sizes.chord * 0.45
    )


def _words(line: _Line, sizes: Sizes, shows: Shown) -> list[tuple[float, str, int]]:
    placed = word_places(
        line.bars,
        line.widths,
        left=_NUMBERS,
        right=shows.width,
        wide=lambda said: text_width(said, sizes.under),
    )
    return list(placed)


def _words_height(line: _Line, sizes: Sizes, shows: Shown) -> float:
    rows = word_rows(_words(line, sizes, shows))
    return sizes.under * 1.25 * rows + (sizes.under * 0.2 if rows else 0.0)


def _mark_rows(line: _Line, sizes: Sizes, shows: Shown) -> int:
    return max((row for *_, row in _mark_places(line, sizes, shows)), default=0) + 1


def _mark_places(line: _Line, sizes: Sizes, shows: Shown) -> Iterator[tuple[float, str, int]]:
    """Where what stands over the bars begins, and in which row, so that none runs into another."""
    ends: list[float] = []
    start = _NUMBERS
    for number, bar in enumerate(line.bars):
        here, start = start, start + line.widths[number]
        said = _marks_of(bar)
        if line.ending and number == 0:
            said = f"{line.ending}.  {said}".rstrip()
        if not said:
            continue
        long = text_width(said, sizes.small)
        x = max(min(here, shows.width - long), 0.0)
        row = next((at for at, end in enumerate(ends) if end <= x), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = x + long + sizes.small
        yield x, said, row


def _group_height(group: _Group, sizes: Sizes, shows: Shown) -> float:
    head = _head_height(sizes)
    return head + sum(_line_height(line, sizes, shows) for line in group.lines)


def _head_height(sizes: Sizes) -> float:
    return max(sizes.small * 1.25, 11.0) * 1.65


def _paged(
    laid: Sequence[_Group], sizes: Sizes, shows: Shown, height: float, head: float
) -> list[list[_Group]]:
    """Set sections on pages; one that is longer than a page goes on where a line ends."""
    pages: list[list[_Group]] = [[]]
    room = height - head
    for group in laid:
        need = _group_height(group, sizes, shows)
        if need > room and pages[-1]:
            pages.append([])
            room = height
        while need > room and len(group.lines) > 1:
            kept = 1
            used = _head_height(sizes) + _line_height(group.lines[0], sizes, shows)
            while used + _line_height(group.lines[kept], sizes, shows) <= room:
                used += _line_height(group.lines[kept], sizes, shows)
                kept += 1
            pages[-1].append(group._replace(lines=group.lines[:kept]))
            pages.append([])
            room = height
            group = group._replace(lines=group.lines[kept:])
            need = _group_height(group, sizes, shows)
        pages[-1].append(group)
        room -= need
    return pages


# Drawing


def _diagrams(chart: Chart, width: float, left_handed: bool) -> tuple[list[str], float]:
    """The small diagrams along the top, and how much of the page they take."""
    drawn = [card for card in chart.cards if card.drawn is not None]
    if not drawn:
        return [], 0.0
    return small_diagrams(drawn, width, stage=chart.stage, left_handed=left_handed)


def _page(groups: Sequence[_Group], sizes: Sizes, shows: Shown, top: list[str], head: float) -> str:
    pieces = list(top)
    y = head
    said = []
    for group in groups:
        pieces += _section_mark(group, sizes, shows, y)
        y += _head_height(sizes)
        for number, line in enumerate(group.lines):
            high = _line_height(line, sizes, shows)
            pieces += _line(group, line, number, sizes, shows, y + high)
            y += high
        said.append(_said(group, shows))
    label = f"Chart. {' '.join(said)}"
    return picture("engraved", shows.width, y + 2, label, pieces, text_anchor="start",
                   data_size=f"{sizes.chord:g}")  # fmt: skip


def _said(group: _Group, shows: Shown) -> str:
    """A section for a reader by voice: what sounds, and the shape."""
    words = [f"{group.folded.section.name or 'Outside the form'}:"]
    for line in group.lines:
        for bar in line.bars:
            chords = [chord for _, chord in _placed(bar)] or ([bar.held] if bar.held else [])
            names = [
                "rest"
                if chord.concert == REST
                else f"sounds {chord.concert}"
                + (f", shape {chord.shape}" if shows.chart.with_shapes and chord.shape else "")
                for chord in chords
            ]
            sung = "".join(f", sung: {each.text}" for each in bar.words)
            words.append(f"bar {bar.bar} {', then '.join(names) or 'nothing'}{sung};")
    return " ".join(words)


def _section_mark(group: _Group, sizes: Sizes, shows: Shown, y: float) -> Iterator[str]:
    section, folded = group.folded.section, group.folded
    size = max(sizes.small * 1.25, 11.0)
    foot = y + size * 1.35
    name = section.name or "outside the form"
    x = 0.0
    if SEGNO in folded.signs or CODA in folded.signs:
        sign = "𝄋" if SEGNO in folded.signs else "𝄌"
        yield text(0, foot, f"{sign} ", size=size * 1.2)
        x = size * 1.5
    wide = text_width(name, size) + size * 0.8
    yield tag("rect", x=x + 0.5, y=foot - size * 1.05, width=wide, height=size * 1.45,
              stroke_width=1.2)  # fmt: skip
    yield text(x + size * 0.4, foot, name, size=size, font_weight="bold")
    x += wide + size * 0.5
    if folded.times > 1:
        times = f"x{folded.times}"
        yield text(x, foot, times, size=size * 1.15, font_weight="bold", class_="times")
        x += text_width(times, size * 1.15) + size * 0.5
    word = "bars" if "-" in section.bars else "bar"
    said = [f"{word} {with_dashes(section.bars)}"]
    if folded.again:
        said.append(f"again {with_dashes(', '.join(folded.again))}")
    said += [part for part in (section_about(section), section.said) if part]
    remark = ", ".join(said)
    while text_width(remark, sizes.small) > shows.width - x and len(remark) > 1:
        remark = f"{remark[:-2].rstrip()}…"
    yield text(x, foot, remark, size=sizes.small, class_="faint")


def _line(
    group: _Group, line: _Line, number: int, sizes: Sizes, shows: Shown, foot: float
) -> Iterator[str]:
    folded = group.folded
    below = sizes.under * 1.2 if shows.two_lines else 0.0
    words = _words_height(line, sizes, shows)
    base = foot - sizes.chord * 0.45 - below - words  # the foot of the slashes
    top = base - sizes.chord * 0.95  # of the bar lines
    over = top - sizes.chord * 1.15
    for x, said, row in _mark_places(line, sizes, shows):
        y = over - sizes.small * 1.5 * row
        yield text(x + 2, y, said, size=sizes.small, class_="mark", font_weight="bold")
    for x, said, row in _words(line, sizes, shows):
        y = base + below + sizes.under * 1.25 * (row + 1)
        yield text(x, y, said, size=sizes.under, class_="words")
    if line.ending:
        end = _NUMBERS + sum(line.widths)
        up = over + sizes.small * 0.45
        yield tag("path", class_="ending", stroke_width=1,
                  d=f"M{_NUMBERS:g} {up + 6:g}V{up:g}H{end:g}")  # fmt: skip
    if line.bars:
        yield text(0, base - 1, str(line.bars[0].bar), size=sizes.small, class_="faint number")
    repeats = folded.times > 1
    first, last = number == 0, line.closes
    x = _NUMBERS
    for place, (bar, wide) in enumerate(zip(line.bars, line.widths, strict=True)):
        yield from _bar(bar, x, wide, base, sizes, shows)
        yield from _barline(x, top, base, repeat=1 if repeats and first and place == 0 else 0)
        x += wide
    closes = repeats and (line.ending == 1 or (last and not line.ending))
    yield from _barline(x, top, base, repeat=-1 if closes else 0, double=last)
    if last:
        signs = [sign for sign in folded.signs if sign not in (SEGNO, CODA)]
        if signs:
            said = ", ".join(signs)
            at = min(x + 6, shows.width - text_width(said, sizes.small * 1.2))
            y = base if at > x else over
            yield text(at, y, said, size=sizes.small * 1.2, font_weight="bold")


def _barline(
    x: float, top: float, base: float, *, repeat: int = 0, double: bool = False
) -> Iterator[str]:
    """A bar line; repeat 1 opens a repeat, -1 closes one."""
    yield tag("path", class_="barline", d=f"M{x:g} {top:g}V{base:g}", stroke_width=1.2)
    if repeat:
        yield tag("rect", class_="repeat", x=x - 4 if repeat < 0 else x - 1.5, y=top, width=3,
                  height=base - top, fill=SOLID, stroke="none")  # fmt: skip
        dots = x + 6 if repeat > 0 else x - 8
        for part in (0.35, 0.65):
            yield tag("circle", cx=dots, cy=top + (base - top) * part, r=1.7, fill=SOLID,
                      stroke="none")  # fmt: skip
    elif double:
        yield tag("path", class_="barline", d=f"M{x - 3:g} {top:g}V{base:g}", stroke_width=1.2)


def _bar(
    bar: ChartBar, x: float, wide: float, base: float, sizes: Sizes, shows: Shown
) -> Iterator[str]:
    inner = wide - sizes.chord * 0.4
    left = x + sizes.chord * 0.4
    chords = _placed(bar)
    about = {"data_bar": bar.bar}
    for where, chord in chords:
        at = left + float(where) * inner
        large, small = shows.names(chord)
        if large:
            said = f"({large})" if chord is bar.held else large
            yield text(at, base - sizes.chord * 1.05, said, size=sizes.chord, font_weight="bold",
                       class_="chord", **about)  # fmt: skip
        if small and shows.two_lines:
            yield text(at, base + sizes.under * 1.05, small, size=sizes.under,
                       class_="under", **about)  # fmt: skip
    silent = not chords and (bar.held is None or bar.held.concert == REST)
    yield from _beats(bar, left, inner, base, sizes, silent=silent)


def _beats(
    bar: ChartBar, left: float, inner: float, base: float, sizes: Sizes, *, silent: bool
) -> Iterator[str]:
    """A heavy slash for each beat that is played; a rest for those that are not."""
    beats = bar.beats - bar.first_beat + 1
    high = sizes.chord * 0.62
    low = base - sizes.chord * 0.16
    if silent:
        y = base - sizes.chord * 0.62
        yield tag("rect", class_="rest", x=left + inner / 2 - 6, y=y, width=12, height=4,
                  fill=SOLID, stroke="none", data_bar=bar.bar)  # fmt: skip
        return
    starts = [(where, chord.concert != REST) for where, chord in _placed(bar)]
    playing = bar.held is not None and bar.held.concert != REST
    step = bar.pulse if beats % bar.pulse == 0 else 1
    for beat in range(0, beats, step):
        place = Fraction(beat, beats)
        on = next((sounds for where, sounds in reversed(starts) if where <= place), playing)
        x = left + float(place) * inner
        if on:
            yield tag("path", class_="slash", d=f"M{x:g} {low:g}l{high * 0.62:g} {-high:g}",
                      stroke_width=sizes.chord * 0.2, stroke_linecap="butt",
                      data_bar=bar.bar)  # fmt: skip
        else:
            yield tag("rect", class_="rest", x=x, y=low - high * 0.5, width=7, height=3,
                      fill=SOLID, stroke="none", data_bar=bar.bar)  # fmt: skip
