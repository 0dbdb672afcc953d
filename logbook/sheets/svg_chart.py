"""A chart engraved on pages: chord names over the bars, heavy slashes, the shapes below.

Sizes are in points (1/72 inch). Four bars make a line where their names fit, else two or one; all
lines of a chart are drawn at one size, the largest at which it fits its page. Where the smallest
is still too large, the next page begins at a section, or within one that no page holds.

A slash is a beat, drawn heavy and slanted between the names' line and the shapes', so that it is
never a part of a chord's name.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache

from logbook.sheets.beat_places import spread
from logbook.sheets.blocks import Chart
from logbook.sheets.chart_layout import (
    LEAST_TEXT,
    NUMBERS,
    LaidLine,
    LaidSection,
    Shown,
    TextSizes,
    group_height,
    head_height,
    lay_section,
    least_height,
    lift,
    line_height,
    mark_places,
    needs_of,
    paged,
    places_of,
    shown,
    words_height,
    words_of,
)
from logbook.sheets.charts import BARS_A_ROW, REST, ChartBar
from logbook.sheets.folded import CODA, SEGNO, Folded, bar_passes, section_passes
from logbook.sheets.folding import fold
from logbook.sheets.signs import with_dashes
from logbook.sheets.svg_diagram import small_diagrams
from logbook.sheets.svg_marks import (
    SOLID,
    coda_sign,
    escaped,
    number_text,
    picture,
    segno,
    tag,
    text,
    text_width,
)
from logbook.sheets.text_chart import section_about

SMALLEST, LARGEST = 11.0, 15.0
ALONE_SMALLEST, ALONE_LARGEST = 9.0, 20.0
STAGE_SMALLEST, STAGE_LARGEST = 20.0, 26.0
STAGE_LEAST = 10.0
"""What names may shrink to on a player's one page for the stage before a second page is taken."""
_NEARLY = 0.01


def chart_pages(
    chart: Chart,
    *,
    width: float,
    height: float,
    left_handed: bool = False,
    big: str = "sounds",
    paged_to: tuple[float, float] | None = None,
) -> tuple[str, ...]:
    """Return a chart as pictures of at most `width` by `height` points, one to a page.

    One that does not fit at its smallest size is set on pages of their own: the first and the
    others as high as `paged_to` says, which is the same height where it says nothing. `big` says
    which names are the larger ones: "sounds" or "shapes".
    """
    groups = list(fold(chart.sections))
    if not groups:
        return ()
    shows = shown(chart, width, big)
    top, head = _diagrams(chart, width, left_handed)
    laid, sizes, total = _laid_out(chart, groups, shows, height - head)
    total += head
    first, rest = (height, height) if total <= height else paged_to or (height, height)
    pages = paged(laid, sizes, shows, (first - head, rest))
    return tuple(
        _page(page, sizes, shows, top if number == 0 else [], head if number == 0 else 0.0)
        for number, page in enumerate(pages)
    )


def _range(chart: Chart) -> tuple[float, float]:
    """The largest and the smallest height of its chord names, in points."""
    if chart.stage:
        return STAGE_LARGEST, STAGE_SMALLEST
    return (ALONE_LARGEST, ALONE_SMALLEST) if chart.alone else (LARGEST, SMALLEST)


def _laid_out(
    chart: Chart, groups: Sequence[Folded], shows: Shown, height: float
) -> tuple[list[LaidSection], TextSizes, float]:
    """The sections at the largest size at which they are no higher and no wider than the page.

    Where they are higher at every size, they are laid for several pages.
    """
    _, smallest = _range(chart)
    ways = list(_ways(chart))
    for_several = [way for way in ways if way[1] >= smallest][-1]
    for a_line, size in ways:
        sizes = _sizes(chart, a_line, size)
        least = sum(least_height(each, sizes, shows, a_line) for each in groups)
        if least > height + _NEARLY and (a_line, size) != for_several:
            continue  # it need not be laid to see that it is too high
        made = _at_size(chart, groups, shows, a_line, size)
        narrow = _widest_line(made[0]) <= shows.width
        if narrow and made[2] <= height:
            return made
        if size >= smallest:
            several = made, narrow  # a second page is better read than still smaller names
    made, narrow = several
    size = smallest
    while not narrow and size > LEAST_TEXT:
        size -= 1
        made = _at_size(chart, groups, shows, BARS_A_ROW, size)
        narrow = _widest_line(made[0]) <= shows.width
    return made


def _sizes(chart: Chart, a_line: int, size: float) -> TextSizes:
    tight = a_line > BARS_A_ROW or (chart.stage and size < STAGE_SMALLEST)
    return TextSizes(size, chart.stage, tight)


def _at_size(
    chart: Chart, groups: Sequence[Folded], shows: Shown, a_line: int, size: float
) -> tuple[list[LaidSection], TextSizes, float]:
    sizes = _sizes(chart, a_line, size)
    # Where no section is as long as a line, its bars take the room that is there.
    longest = max(sum(map(len, each.section.rows + each.endings)) for each in groups)
    a_line = max(min(a_line, longest), BARS_A_ROW)
    laid = [lay_section(each, sizes, shows, a_line) for each in groups]
    return laid, sizes, sum(group_height(each, sizes, shows) for each in laid)


def _widest_line(laid: Sequence[LaidSection]) -> float:
    return max((line.wide for group in laid for line in group.lines), default=0.0)


def _ways(chart: Chart) -> Iterator[tuple[int, float]]:
    """Bars a line and height of names, the best first: on a stage eight bars to stay on a page.

    Where that does not do, the names on a player's one page for the stage are smaller.
    """
    largest, smallest = _range(chart)
    for a_line in (BARS_A_ROW, 2 * BARS_A_ROW) if chart.stage else (BARS_A_ROW,):
        yield from ((a_line, largest - step / 2) for step in range(int(2 * (largest - smallest))))
        yield a_line, smallest
    if chart.stage:
        for size in range(int(smallest) - 1, int(STAGE_LEAST) - 1, -1):
            yield from ((BARS_A_ROW, size), (2 * BARS_A_ROW, size))


def _diagrams(chart: Chart, width: float, left_handed: bool) -> tuple[list[str], float]:
    """The small diagrams along the top, and how much of the page they take."""
    drawn = [card for card in chart.cards if card.drawn is not None]
    if not drawn:
        return [], 0.0
    return small_diagrams(drawn, width, stage=chart.stage, left_handed=left_handed)


def _page(
    groups: Sequence[LaidSection], sizes: TextSizes, shows: Shown, top: list[str], head: float
) -> str:
    pieces = list(top)
    y = head
    said = []
    for group in groups:
        pieces += _section_mark(group, sizes, shows, y)
        y += head_height(sizes)
        for number, line in enumerate(group.lines):
            high = line_height(line, sizes, shows)
            pieces += _line(group, line, number, sizes, shows, y + high)
            y += high
        said.append(_said(group, shows))
    label = f"Chart. {' '.join(said)}"
    return picture("engraved", shows.width, y + 2, label, pieces, text_anchor="start",
                   data_size=f"{sizes.chord:g}")  # fmt: skip


def _said(group: LaidSection, shows: Shown) -> str:
    """A section for a reader by voice: what sounds, and the shape."""
    words = [f"{group.folded.section.name or 'Outside the form'}:"]
    for line in group.lines:
        for bar in line.bars:
            chords = [chord for _, chord in places_of(bar)] or ([bar.held] if bar.held else [])
            names = [
                "rest"
                if chord.concert == REST
                else f"sounds {chord.concert}"
                + (f", shape {chord.shape}" if shows.naming.with_shapes and chord.shape else "")
                for chord in chords
            ]
            sung = "".join(f", sung: {each.text}" for each in bar.words)
            words.append(f"bar {bar.bar} {', then '.join(names) or 'nothing'}{sung};")
    return " ".join(words)


def _section_mark(group: LaidSection, sizes: TextSizes, shows: Shown, y: float) -> Iterator[str]:
    section, folded = group.folded.section, group.folded
    size = max(sizes.small * 1.25, 11.0)
    foot = y + size * (1.1 if sizes.tight else 1.35)
    name = section.name or "outside the form"
    if group.goes_on:
        name = f"{name}, continued"
    x = 0.0
    for sign, draw in ((SEGNO, segno), (CODA, coda_sign)):
        if sign in folded.signs and not group.goes_on:
            yield from draw(x + size * 0.6, foot - size * 0.35, size * 1.3)
            x += size * 1.5
    wide = text_width(name, size, bold=True) + size * 0.8
    yield tag("rect", x=x + 0.5, y=foot - size * 1.02, width=wide, height=size * 1.35,
              stroke_width=1.2, class_="section", data_passes=section_passes(folded))  # fmt: skip
    yield text(x + size * 0.4, foot, name, size=size, font_weight="bold")
    x += wide + size * 0.5
    if folded.times > 1 and not group.goes_on:
        times = f"x{folded.times}"
        yield text(x, foot, times, size=size * 1.15, font_weight="bold", class_="times")
        x += text_width(times, size * 1.15, bold=True) + size * 0.5
    word = "bars" if "-" in section.bars else "bar"
    said = [f"{word} {with_dashes(section.bars)}"]
    if folded.again:
        said.append(f"again {with_dashes(', '.join(folded.again))}")
    if folded.jumped:
        said.append(f"after the jump {with_dashes(', '.join(folded.jumped))} with the last ending")
    said += [part for part in (section_about(section), section.said) if part]
    remark = ", ".join(said)
    while text_width(remark, sizes.small) > shows.width - x and len(remark) > 1:
        remark = f"{remark[:-2].rstrip()}…"
    yield text(x, foot, remark, size=sizes.small, class_="faint")


def _line(
    group: LaidSection, line: LaidLine, number: int, sizes: TextSizes, shows: Shown, foot: float
) -> Iterator[str]:
    folded = group.folded
    below = sizes.under * 1.2 if shows.naming.two_lines else 0.0
    words = words_height(line, sizes, shows)
    base = foot - sizes.gap - below - words  # the foot of the slashes
    top = base - sizes.band  # of the bar lines
    over = base - sizes.over - lift(line, sizes)
    for x, said, row in mark_places(line, sizes, shows):
        y = over - sizes.small * 1.5 * row
        yield text(x + 2, y, said, size=sizes.small, class_="mark", font_weight="bold")
    for x, said, row in words_of(line, sizes, shows):
        y = base + below + sizes.under * 1.25 * (row + 1)
        yield text(x, y, said, size=sizes.under, class_="words")
    for _, first_bar, after in line.brackets:
        start = NUMBERS + sum(line.widths[:first_bar])
        end = NUMBERS + sum(line.widths[:after]) - (3 if after < len(line.bars) else 0)
        up = over + sizes.small * 0.45
        yield tag("path", class_="ending", stroke_width=1,
                  d=f"M{start:g} {up + 6:g}V{up:g}H{end:g}")  # fmt: skip
    if line.bars:
        yield text(0, base - 1, str(line.bars[0].bar), size=sizes.small, class_="faint number")
    repeats = folded.times > 1
    first, last = number == 0 and not group.goes_on, line.closes
    x = NUMBERS
    for place, (bar, wide) in enumerate(zip(line.bars, line.widths, strict=True)):
        # What is lit and clicked where a page plays; on paper nothing is seen of it.
        yield (
            f'<rect class="bar" x="{number_text(x)}" y="{number_text(over - sizes.small * 0.2)}"'
            f' width="{number_text(wide)}"'
            f' height="{number_text(base + below - over + sizes.small * 0.4)}" stroke="none"'
            f' data-bars="{bar_passes(folded, bar)}"/>'
        )
        repeat = repeats and first and place == line.upbeat
        dots = sizes.chord * 0.4 if repeat else 0.0
        yield from _bar(bar, x + dots, wide - dots, base, sizes, shows, opens=place == 0)
        back = bool(line.second) and place == line.second
        yield from _barline(x, top, base, repeat=-1 if back else int(repeat))
        x += wide
    first_ending = line.ending == 1 and not line.second
    closes = repeats and (first_ending or (last and not line.ending))
    yield from _barline(x, top, base, repeat=-1 if closes else 0, double=last)
    if last:
        signs = [sign for sign in folded.signs if sign not in (SEGNO, CODA)]
        if signs:
            said = ", ".join(signs)
            at = min(x + 6, shows.width - text_width(said, sizes.small * 1.2, bold=True))
            y = base if at > x else over
            yield text(at, y, said, size=sizes.small * 1.2, font_weight="bold")


def _barline(
    x: float, top: float, base: float, *, repeat: int = 0, double: bool = False
) -> Iterator[str]:
    """A bar line; repeat 1 opens a repeat, -1 closes one."""
    yield f'<path class="barline" d="M{x:g} {top:g}V{base:g}" stroke-width="1.2"/>'
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
    bar: ChartBar,
    x: float,
    wide: float,
    base: float,
    sizes: TextSizes,
    shows: Shown,
    *,
    opens: bool,
) -> Iterator[str]:
    inner = wide - sizes.chord * 0.4
    left = x + sizes.chord * 0.4
    chords = places_of(bar)
    if opens and not chords and bar.held is not None:
        chords = ((Fraction(0), bar.held),)  # a line begins with what goes on
    place = spread(needs_of(bar, sizes, shows.naming), inner)
    for where, chord in chords:
        at = left + place(float(where))
        large, small = shows.naming.names(chord)
        if large:
            said = f"({large})" if chord is bar.held else large
            yield (
                f'<text x="{number_text(at)}" y="{number_text(base - sizes.names)}"'
                f' font-size="{number_text(sizes.chord)}" font-weight="bold" class="chord"'
                f' data-bar="{bar.bar}">{escaped(said)}</text>'
            )
        if small and shows.naming.two_lines:
            yield (
                f'<text x="{number_text(at)}" y="{number_text(base + sizes.under * 1.05)}"'
                f' font-size="{number_text(sizes.under)}" class="under"'
                f' data-bar="{bar.bar}">{escaped(small)}</text>'
            )
    silent = not bar.chords and (bar.held is None or bar.held.concert == REST)
    places = [] if silent else [(place(at), on) for at, on in _beats_of(bar)]
    yield from _beats(bar, left, inner, base, sizes, places)


def _beats(
    bar: ChartBar,
    left: float,
    inner: float,
    base: float,
    sizes: TextSizes,
    places: Sequence[tuple[float, bool]],
) -> Iterator[str]:
    """A heavy slash for each beat that is played; a rest for those that are not, or for all."""
    high = sizes.chord * 0.62
    low = base - sizes.chord * 0.16
    if not places:
        y = base - sizes.chord * 0.62
        yield tag("rect", class_="rest", x=left + inner / 2 - 6, y=y, width=12, height=4,
                  fill=SOLID, stroke="none", data_bar=bar.bar)  # fmt: skip
        return
    slash = (
        f' {low:g}l{high * 0.62:g} {-high:g}" stroke-width="{number_text(sizes.chord * 0.2)}"'
        f' stroke-linecap="butt" data-bar="{bar.bar}"/>'
    )
    for place, on in places:
        x = left + place
        if on:
            yield f'<path class="slash" d="M{x:g}{slash}'
        else:
            yield tag("rect", class_="rest", x=x, y=low - high * 0.5, width=7, height=3,
                      fill=SOLID, stroke="none", data_bar=bar.bar)  # fmt: skip


@lru_cache(maxsize=2048)
def _beats_of(bar: ChartBar) -> tuple[tuple[float, bool], ...]:
    """Where in a bar, from 0 to 1, each of its beats is, and whether it is played."""
    beats = bar.beats - bar.first_beat + 1
    starts = [(where, chord.concert != REST) for where, chord in reversed(places_of(bar))]
    playing = bar.held is not None and bar.held.concert != REST
    step = bar.pulse if beats % bar.pulse == 0 else 1
    places = (Fraction(beat, beats) for beat in range(0, beats, step))
    return tuple(
        (float(place), next((sounds for where, sounds in starts if where <= place), playing))
        for place in places
    )
