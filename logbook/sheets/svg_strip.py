"""A comp as one strip to scale: sections and bars on top, the takes, then what is heard.

A take's row shows what was recorded as an outline and what of it is used as hatching, the same
hatching with which it stands in the strip below; a notch is a punch-in, a wedge a crossfade (drawn
at least so wide that it can be seen). Bars that come from elsewhere say from where.
"""

from __future__ import annotations

from collections.abc import Iterator

from logbook.sheets.signs import with_dashes
from logbook.sheets.strips import Strip, StripTake
from logbook.sheets.svg_comp import hatch
from logbook.sheets.svg_marks import SOLID, picture, tag, text, text_width

_LEFT, _SIZE = 92.0, 8.0
_SECTION, _NUMBERS, _ROW, _STRIP, _UNDER = 15.0, 13.0, 13.0, 26.0, 13.0
_LEAST_WEDGE = 3.5
_SHORTEST_TICKS = 17.0


def strip_svg(strip: Strip, width: float = 520.0) -> str:
    """Return the strip, `width` points wide."""
    scale = (width - _LEFT - 1) / max(strip.length, 1e-6)
    order = list(dict.fromkeys([take.name for take in strip.takes] + [r.take for r in strip.runs]))

    def x(bars: float) -> float:
        return _LEFT + bars * scale

    y = 0.0
    pieces = list(_sections(strip, scale))
    y += _SECTION
    pieces += _bar_numbers(strip, scale, y)
    y += _NUMBERS
    for take in strip.takes:
        pieces += _take(take, strip.first, order.index(take.name), scale, y)
        y += _ROW
    y += 5
    pieces.append(text(0, y + _STRIP * 0.6, "heard", size=_SIZE + 1, font_weight="bold",
                       text_anchor="start"))  # fmt: skip
    for run in strip.runs:
        start, end = x(run.at[0]), x(run.at[1])
        wide = max(end - start, 0.8)
        pieces.append(hatch(start, y, wide, _STRIP, order.index(run.take)))
        pieces.append(
            tag("rect", class_="run", x=start, y=y, width=wide, height=_STRIP, stroke_width=1.2,
                data_take=run.take, data_bars=run.bars, data_source=run.source)
        )  # fmt: skip
        label = text_width(run.take, 11)
        if label + 4 <= wide:
            middle = (start + end) / 2
            pieces.append(
                tag("rect", class_="paper", x=middle - label / 2 - 2, y=y + 6, width=label + 4,
                    height=14, fill="#fff", stroke="none")
            )  # fmt: skip
            pieces.append(text(middle, y + 17, run.take, size=11, font_weight="bold"))
        if run.fade:
            wedge = max(run.fade * scale, _LEAST_WEDGE)
            pieces.append(
                tag("path", class_="fade", stroke="none", fill=SOLID,
                    d=f"M{start - wedge:g} {y:g}H{start + wedge:g}L{start:g} {y + 7:g}z")
            )  # fmt: skip
        source = with_dashes(run.source)
        if run.moved and text_width(source, _SIZE) <= wide + 6:
            pieces.append(text((start + end) / 2, y + _STRIP + 9, source, size=_SIZE))
    y += _STRIP + _UNDER
    return picture("strip", width, y, f"The comp to scale: {_said(strip)}", pieces)


def _said(strip: Strip) -> str:
    return "; ".join(
        f"bars {run.bars} {'take ' if run.take[:1].isdecimal() else ''}{run.take}"
        + (f" from bars {run.source}" if run.moved else "")
        for run in strip.runs
    )


def _sections(strip: Strip, scale: float) -> Iterator[str]:
    for name, (start, end) in strip.sections:
        left, wide = _LEFT + start * scale, (end - start) * scale
        yield tag("rect", x=left, y=0.5, width=wide, height=_SECTION - 2, stroke_width=0.8)
        shown = name
        while shown and text_width(shown, _SIZE) > wide - 4:
            shown = f"{shown[:-2]}…" if len(shown) > 2 else ""
        if shown:
            yield text(left + wide / 2, _SECTION - 5, shown, size=_SIZE, font_weight="bold")


def _bar_numbers(strip: Strip, scale: float, y: float) -> Iterator[str]:
    every = next((n for n in (1, 2, 4, 8, 16, 32, 64, 128) if n * scale >= _SHORTEST_TICKS), 256)
    for at in range(int(strip.length) + 1):
        x = _LEFT + at * scale
        number = strip.first + at
        named = (number - 1) % every == 0 and at < strip.length
        yield tag("path", class_="tick", stroke_width=0.6,
                  d=f"M{x:g} {y + _NUMBERS - 1:g}v{-4 if named else -2:g}")  # fmt: skip
        if named:
            yield text(x + 1, y + _NUMBERS - 5, str(number), size=_SIZE, text_anchor="start",
                       class_="faint")  # fmt: skip


def _take(take: StripTake, first: int, number: int, scale: float, y: float) -> Iterator[str]:
    name = f"take {take.name}"
    result = f", {take.result}" if take.result else ""
    if text_width(name + result, _SIZE) > _LEFT - 3:
        result = ""
    yield text(0, y + _ROW - 4, f"{name}{result}", size=_SIZE, text_anchor="start")
    for start, end in take.recorded:
        yield tag("rect", class_="ghost", x=_LEFT + start * scale, y=y + 1.5,
                  width=max((end - start) * scale, 0.8), height=_ROW - 4, stroke_width=0.6,
                  stroke_dasharray="2 2", data_take=take.name,
                  data_from=f"{first + start:g}", data_long=f"{end - start:g}")  # fmt: skip
    for start, end in take.used:
        left, wide = _LEFT + start * scale, max((end - start) * scale, 0.8)
        yield tag("rect", class_="used", x=left, y=y + 1.5, width=wide, height=_ROW - 4,
                  stroke_width=1.4, data_take=take.name, data_from=f"{first + start:g}",
                  data_long=f"{end - start:g}")  # fmt: skip
        yield hatch(left, y + 1.5, wide, _ROW - 4, number)
    for start, end in take.punched:
        left = _LEFT + start * scale
        wide = max((end - start) * scale, 3.0)
        yield tag("path", class_="punch", fill=SOLID, stroke="none",
                  d=f"M{left:g} {y + 1.5:g}h{wide:g}v3.2h{-wide:g}z")  # fmt: skip
