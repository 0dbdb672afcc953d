"""A comp as one strip to scale: sections and bars on top, the takes, then what is heard.

A take's row shows what was recorded as a thin broken outline and what is used of it filled: with
the outline of its sound where the files are there, else solid. Below stands what is heard, each
stretch with the number of its take; a wedge is a crossfade (drawn at least so wide that it can be
seen), a notch in a take a punch-in. Bars that come from elsewhere say from where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from logbook.sheets.outlines import Outline
from logbook.sheets.signs import with_dashes
from logbook.sheets.strips import Strip, StripRun, StripSound, StripTake
from logbook.sheets.svg_marks import SOLID, picture, tag, text, text_width

_LEFT, _SIZE = 92.0, 8.0
_SECTION, _NUMBERS, _ROW, _STRIP, _UNDER = 15.0, 13.0, 16.0, 30.0, 11.0
_LARGEST, _SMALLEST = 11.0, 6.5
_LEAST_WEDGE = 2.2
_SHORTEST_TICKS = 17.0
_EVERY = (1, 4, 8, 16, 32, 64, 128)

Outlines = Mapping[StripSound, Outline]


class Scale(NamedTuple):
    """Where the first bar begins, and how wide a bar is, in points."""

    left: float
    bar: float

    def x(self, bars: float) -> float:
        """Where a place stands that is so many bars from the first one."""
        return self.left + bars * self.bar


def strip_svg(
    strip: Strip, width: float = 520.0, outlines: Outlines | None = None, left: float = _LEFT
) -> str:
    """Return the strip, `width` points wide; `outlines` are those of the sounds that are there.

    The names of the takes have `left` points.
    """
    sounds = outlines or {}
    scale = Scale(left, (width - left - 1) / max(strip.length, 1e-6))
    pieces = list(_sections(strip, scale))
    y = _SECTION
    pieces += _bar_numbers(strip, scale, y)
    y += _NUMBERS
    foot = y + _ROW * len(strip.takes) + 5
    for _, (start, _end) in strip.sections[1:]:
        x = scale.x(start)
        pieces.append(tag("path", class_="between", d=f"M{x:g} {y:g}V{foot:g}", stroke_width=0.5))
    for take in strip.takes:
        pieces += _take(take, strip.first, scale, y, sounds)
        y += _ROW
    y += 5
    pieces.append(text(0, y + _STRIP * 0.6, "heard", size=_SIZE + 1, font_weight="bold",
                       text_anchor="start"))  # fmt: skip
    for run in strip.runs:
        pieces += _run(run, scale, y, sounds)
    y += _STRIP
    rows = 0
    for x, row, source in _sources(strip.runs, scale, width):
        pieces.append(text(x, y + 9 + row * 9, source, size=_SIZE, class_="source"))
        rows = max(rows, row + 1)
    y += _UNDER + 9 * max(rows - 1, 0)
    return picture("strip", width, y, f"The comp to scale: {_said(strip)}", pieces)


def _said(strip: Strip) -> str:
    return "; ".join(
        f"bars {run.bars} {'take ' if run.take[:1].isdecimal() else ''}{run.take}"
        + (f" from bars {run.source}" if run.moved else "")
        for run in strip.runs
    )


def _run(run: StripRun, scale: Scale, y: float, sounds: Outlines) -> Iterator[str]:
    """A stretch of what is heard: its box, its sound in grey, the number of its take."""
    start, end = scale.x(run.at[0]), scale.x(run.at[1])
    wide = max(end - start, 0.8)
    sound = sounds.get(run.sound) if run.sound else None
    if sound:
        yield _envelope(sound, start, y + 1, wide, _STRIP - 2, opacity=0.35)
    yield tag("rect", class_="run", x=start, y=y, width=wide, height=_STRIP, stroke_width=1.2,
              data_take=run.take, data_bars=run.bars, data_source=run.source)  # fmt: skip
    size = min(_LARGEST, _LARGEST * (wide - 1.5) / text_width(run.take, _LARGEST))
    if size >= _SMALLEST:
        yield text((start + end) / 2, y + _STRIP / 2 + size * 0.36, run.take, size=size,
                   font_weight="bold", class_="take")  # fmt: skip
    if run.fade:
        wedge = max(run.fade * scale.bar, _LEAST_WEDGE)
        yield tag("path", class_="fade", stroke="none", fill=SOLID,
                  d=f"M{start - wedge:g} {y:g}H{start + wedge:g}L{start:g} {y + 6:g}z")  # fmt: skip


def _envelope(
    sound: Sequence[float], x: float, y: float, wide: float, high: float, *, opacity: float = 1.0
) -> str:
    """The outline of a sound as a filled shape about its middle line."""
    middle, half = y + high / 2, high / 2
    step = wide / len(sound)
    over = "".join(
        f"L{x + step * (at + 0.5):.1f} {middle - max(loud * half, 0.4):.1f}"
        for at, loud in enumerate(sound)
    )
    under = "".join(
        f"L{x + step * (at + 0.5):.1f} {middle + max(sound[at] * half, 0.4):.1f}"
        for at in reversed(range(len(sound)))
    )
    return tag("path", class_="envelope", d=f"M{x:.1f} {middle:.1f}{over}L{x + wide:.1f} "
               f"{middle:.1f}{under}z", fill=SOLID, stroke="none",
               fill_opacity=None if opacity == 1.0 else f"{opacity:g}")  # fmt: skip


def _sources(
    runs: Sequence[StripRun], scale: Scale, width: float
) -> Iterator[tuple[float, int, str]]:
    """Where the labels of moved stretches stand, and in which row, so that none meets another."""
    ends = [0.0, 0.0, 0.0]
    for run in runs:
        if not run.moved:
            continue
        source = with_dashes(run.source)
        half = text_width(source, _SIZE) / 2
        middle = min(scale.x((run.at[0] + run.at[1]) / 2), width - half)
        for row, end in enumerate(ends):
            if middle - half >= end:
                ends[row] = middle + half + 3
                yield middle, row, source
                break


def _sections(strip: Strip, scale: Scale) -> Iterator[str]:
    for name, (start, end) in strip.sections:
        left, wide = scale.x(start), (end - start) * scale.bar
        yield tag("rect", x=left, y=0.5, width=wide, height=_SECTION - 2, stroke_width=0.8)
        shown = name
        while shown and text_width(shown, _SIZE, bold=True) > wide - 3:
            shown = f"{shown[:-2]}…" if len(shown) > 2 else ""
        if shown:
            yield text(left + wide / 2, _SECTION - 5, shown, size=_SIZE, font_weight="bold")


def _bar_numbers(strip: Strip, scale: Scale, y: float) -> Iterator[str]:
    every = next((n for n in _EVERY if n * scale.bar >= _SHORTEST_TICKS), 256)
    for at in range(int(strip.length) + 1):
        x = scale.x(at)
        number = strip.first + at
        named = (number - 1) % every == 0 and at < strip.length
        long = -4 if named else -2
        yield (f'<path class="tick" stroke-width="0.6" d="M{x:g} {y + _NUMBERS - 1:g}v{long}"/>')
        if named:
            yield text(x + 1, y + _NUMBERS - 5, str(number), size=_SIZE, text_anchor="start",
                       class_="faint")  # fmt: skip


def _take(take: StripTake, first: int, scale: Scale, y: float, sounds: Outlines) -> Iterator[str]:
    name = f"take {take.name}"
    result = f", {take.result}" if take.result else ""
    if text_width(name + result, _SIZE) > scale.left - 3:
        result = ""
    yield text(0, y + _ROW - 5, f"{name}{result}", size=_SIZE, text_anchor="start",
               font_weight="bold" if take.used else None)  # fmt: skip
    top, high = y + 1.5, _ROW - 3
    for start, end in take.recorded:
        yield tag("rect", class_="ghost", x=scale.x(start), y=top + high * 0.25,
                  width=max((end - start) * scale.bar, 0.8), height=high * 0.5, stroke_width=0.5,
                  stroke_dasharray="1.5 2", stroke_opacity="0.6", data_take=take.name,
                  data_from=f"{first + start:g}", data_long=f"{end - start:g}")  # fmt: skip
    for number, (start, end) in enumerate(take.used):
        left, wide = scale.x(start), max((end - start) * scale.bar, 0.8)
        where = take.sound[number] if number < len(take.sound) else None
        sound = sounds.get(where) if where else None
        yield tag("rect", class_="used", x=left, y=top, width=wide, height=high, stroke_width=1.0,
                  fill=SOLID, fill_opacity="0.15" if sound else "0.75", data_take=take.name,
                  data_from=f"{first + start:g}", data_long=f"{end - start:g}")  # fmt: skip
        if sound:
            yield _envelope(sound, left, top, wide, high)
    for start, end in take.punched:
        left = scale.x(start)
        wide = max((end - start) * scale.bar, 3.0)
        yield tag("path", class_="punch", fill=SOLID, stroke="none",
                  d=f"M{left:g} {y - 0.5:g}h{wide:g}l{-wide / 2:g} 4.5z")  # fmt: skip
