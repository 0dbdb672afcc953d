"""The comp as an SVG bar map: a box for each bar, hatched and numbered by the take it comes from.

Each take has its own hatching, so that the map reads without colour and on a poor copy; the
take's number stands on it, with the same marks as in the text form.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.editing.bar_map import BarMapCell, BarMapRow
from logbook.editing.takes import TakeId
from logbook.sheets.svg_marks import SOLID, picture, tag, text
from logbook.sheets.text_bar_map import take_key, take_labels, takes_in

BARS_A_LINE = 8
_BOX, _TALL, _NUMBER, _GAP = 38.0, 30.0, 12.0, 5.0
_STEP = 5.0
_FIGURE = {"fill": SOLID, "stroke": "none"}


class TakeKey(NamedTuple):
    """How a take looks on the map: its name in words, its short label, a swatch."""

    said: str
    label: str
    swatch: str


def take_keys(rows: Sequence[BarMapRow]) -> tuple[TakeKey, ...]:
    """Return the key to a map: every take that is heard, in order."""
    takes = takes_in(rows)
    labels = take_labels(takes)
    return tuple(
        TakeKey(
            take_key(take, ())
            if take.is_elsewhere
            else f"take {take.number}" + (f", {take.session}" if take.session else ""),
            labels[take],
            picture(
                "swatch",
                30,
                18,
                f"hatching of take {labels[take]}",
                (hatch(0.5, 0.5, 29, 17, number), _frame(0.5, 0.5, 29, 17)),
            ),
        )
        for number, take in enumerate(takes)
    )


def comp_row_svg(row: BarMapRow, rows: Sequence[BarMapRow]) -> str:
    """Return one section of a map; `rows` is the whole of it, by which hatchings are given."""
    takes = takes_in(rows)
    labels = take_labels(takes)
    pitch = _NUMBER + _TALL + _GAP
    body = []
    for place, cell in enumerate(row.cells):
        line, column = divmod(place, BARS_A_LINE)
        body.append(_cell(cell, column * _BOX, line * pitch, takes, labels))
    lines = (len(row.cells) - 1) // BARS_A_LINE + 1
    columns = min(len(row.cells), BARS_A_LINE)
    said = ", ".join(_said(cell, labels) for cell in row.cells)
    return picture(
        "comp",
        columns * _BOX + 1,
        lines * pitch,
        f"{row.section or 'outside the form'}: {said}",
        body,
    )


def _cell(
    cell: BarMapCell, x: float, y: float, takes: Sequence[TakeId], labels: dict[TakeId, str]
) -> str:
    label = _label(cell, labels)
    parts = [
        text(
            x + 3,
            y + _NUMBER - 2,
            str(cell.bar),
            size=9,
            text_anchor="start",
            class_="faint",
            **_FIGURE,
        )
    ]
    top = y + _NUMBER
    if cell.is_gap:
        parts.append(_frame(x + 0.5, top, _BOX, _TALL, dashed=True))
    else:
        wide = _BOX / max(len(cell.takes), 1)
        for number, take in enumerate(cell.takes):
            parts.append(hatch(x + number * wide + 0.5, top, wide, _TALL, takes.index(take)))
        parts.append(_frame(x + 0.5, top, _BOX, _TALL))
    room = 7.0 * len(label) + 5
    parts += [
        tag(
            "rect",
            class_="paper",
            x=x + (_BOX - room) / 2 + 0.5,
            y=top + 6,
            width=room,
            height=_TALL - 12,
            fill="#fff",
            stroke="none",
            rx=2,
        ),
        text(
            x + _BOX / 2 + 0.5, top + _TALL / 2 + 4.5, label, size=13, font_weight="bold", **_FIGURE
        ),
    ]
    return (
        f'<g data-bar="{cell.bar}" data-takes="{" ".join(labels[take] for take in cell.takes)}">'
        f"{''.join(parts)}</g>"
    )


def _label(cell: BarMapCell, labels: dict[TakeId, str]) -> str:
    if cell.is_gap:
        return "–"
    names = [labels[take] for take in cell.takes] + (["–"] if cell.is_partly_empty else [])
    marks = (("+", cell.is_repeated), ("<", cell.is_moved), ("^", cell.is_punched))
    joined = ("&" if cell.is_overlap else "/").join(names)
    return joined + "".join(mark for mark, there in marks if there)


def _said(cell: BarMapCell, labels: dict[TakeId, str]) -> str:
    if cell.is_gap:
        return f"bar {cell.bar} nothing"
    takes = " and ".join(labels[take] for take in cell.takes)
    takes = takes if cell.takes and cell.takes[0].file else f"take {takes}"
    also = (
        ("partly empty", cell.is_partly_empty),
        ("claimed by both", cell.is_overlap),
        ("also heard elsewhere", cell.is_repeated),
        ("from other bars", cell.is_moved),
        ("punched in", cell.is_punched),
    )
    remarks = "".join(f" {word}" for word, there in also if there)
    return f"bar {cell.bar} {takes}{remarks}"


def _frame(x: float, y: float, width: float, height: float, *, dashed: bool = False) -> str:
    return tag(
        "rect", x=x, y=y, width=width, height=height, stroke_dasharray="3 3" if dashed else None
    )


def hatch(x: float, y: float, width: float, height: float, number: int) -> str:
    """Lines of the take with this place in the key; from the tenth on they begin again, denser."""
    kind, round_ = number % 9, number // 9
    step = _STEP / (1 + round_)
    lines = []
    if kind in (1, 4, 7):
        lines += _slanting(x, y, width, height, step, rising=True)
    if kind in (2, 4):
        lines += _slanting(x, y, width, height, step, rising=False)
    if kind in (3, 5, 7):
        lines += [f"M{x:g} {y + at:g}h{width:g}" for at in _steps(step, height)]
    if kind in (5, 6):
        lines += [f"M{x + at:g} {y:g}v{height:g}" for at in _steps(step, width)]
    dash = None
    if kind == 8:
        lines += [f"M{x:g} {y + at:g}h{width:g}" for at in _steps(step, height)]
        dash = "0.1 4"
    if not lines:
        return ""
    return tag(
        "path",
        class_="hatch",
        d="".join(lines),
        stroke_width=1.8 if dash else 0.8,
        stroke_dasharray=dash,
        stroke_linecap="round" if dash else "butt",
        data_hatch=kind,
    )


def _steps(step: float, length: float) -> list[float]:
    return [step * at for at in range(1, int((length - 0.1) // step) + 1)]


def _slanting(
    x: float, y: float, width: float, height: float, step: float, *, rising: bool
) -> list[str]:
    """Lines at 45 degrees, cut off at the edges of the box."""
    lines = []
    offset = step
    while offset < width + height:
        x1, y1 = min(offset, width), max(offset - width, 0.0)
        x2, y2 = max(offset - height, 0.0), min(offset, height)
        if not rising:
            y1, y2 = height - y1, height - y2
        lines.append(f"M{x + x1:g} {y + y1:g}L{x + x2:g} {y + y2:g}")
        offset += step * 1.5
    return lines
