"""What a page shows of a chart and of a comp: pictures for paper, and rows that fit any screen."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from logbook.sheets.blocks import (
    BarMap,
    Block,
    Chart,
    Facts,
    Heading,
    Items,
    Paragraph,
    Patterns,
    RoadMap,
)
from logbook.sheets.charts import ChartBar
from logbook.sheets.folded import bar_passes, section_passes
from logbook.sheets.folding import fold
from logbook.sheets.html_cards import View
from logbook.sheets.looks import Look
from logbook.sheets.outlines import outlines_of
from logbook.sheets.signs import with_dashes
from logbook.sheets.strips import Strip, strip_lines
from logbook.sheets.svg_chart import chart_pages
from logbook.sheets.svg_comp import comp_row_svg, take_keys
from logbook.sheets.svg_marks import text_width
from logbook.sheets.svg_strip import strip_svg
from logbook.sheets.text_bar_map import bar_map_marks
from logbook.sheets.text_chart import HELD, SILENT, SLASH, bar_tokens, fold_said, section_about

_HEAD, _ALONE_HEAD = 118.0, 128.0
_NARROW, _NARROW_NAMES, _NARROW_BARS = 300.0, 44.0, 16
_FOOT = 12.0
"""What else stands on a chart's page, in points: title and facts."""
_SPARE = 12.0
"""How much more a page holds, in points, than is reckoned with where a chart takes several."""
_LETTER, _ROW = 4.7, 11.4
"""About how wide a letter and how high a row of the small print of a live sheet is, in points."""


def small_print(blocks: Sequence[Block], width: float) -> float:
    """About how high, in points, what stands below the chart of a live sheet is."""

    def rows(text: str, wide: float = width) -> int:
        return max(math.ceil(len(text) * _LETTER / wide), 1)

    high = 0.0
    for block in blocks:
        if isinstance(block, Heading):
            high += 1.7 * _ROW * (block.level > 2)
        elif isinstance(block, Paragraph):
            high += _ROW * rows(block.text)
        elif isinstance(block, Items):
            high += _ROW * sum(1.2 * rows(each) for each in block.items)
        elif isinstance(block, Facts) and not block.large:
            said = "".join(f"{label} {text}      " for label, text in block.rows)
            high += _ROW * rows(said, width * 0.92)
        elif isinstance(block, Patterns):
            high += 3.6 * _ROW * math.ceil(len(block.cards) / 2) + _ROW
        elif isinstance(block, RoadMap):
            high += 2.2 * _ROW * _road_rows(block, width)
            high += _ROW * sum(bool(stop.said) for stop in block.stops)
    return high


def _road_rows(road: RoadMap, width: float) -> int:
    """About how many rows the boxes of a road map take, with the arrows between them."""
    rows, x = 1, 0.0
    for stop in road.stops:
        how = 1.15 * len(stop.how) + 2 if stop.how else 0.0
        top = 1.3 * len(f"{stop.name} {stop.length}") + how
        box = _LETTER * max(top, 0.9 * len(f"{stop.bars}, at {stop.starts_at}")) + 10
        if x and x + box > width:
            rows, x = rows + 1, 0.0
        x += box + 18
    return rows


def above_chart(title: str, top: Facts | None, width: float) -> float:
    """About how high, in points, what stands above the chart of a live sheet is.

    `title` is that of the sheet, empty where it stands on an earlier page.
    """
    high = 22.0
    if title:
        high += 13 + 18.0 * math.ceil(text_width(title, 14.25, bold=True) / (width - 50))
    x = width
    for label, text in top.rows if top else ():
        box = max(text_width(text, 12, bold=True), text_width(label, 8)) + 9
        if x + box > width:
            high, x = high + 25, 0.0
        x += box
    return high


def chart_view(block: Chart, look: Look) -> View:
    """The chart twice: engraved for paper, and in rows that fit any screen.

    The player's sheet and the lesson of a part show the same one; nobody changes a view.
    """
    for drawn in tuple(_drawn):
        if drawn.block.sections is block.sections and (drawn.block, drawn.look) == (block, look):
            return drawn.view
    view = _chart_view(block, look)
    _drawn.appendleft(_Drawn(block, look, view))
    return view


class _Drawn(NamedTuple):
    block: Chart
    look: Look
    view: View


_drawn: deque[_Drawn] = deque(maxlen=32)
"""The charts drawn last, the newest first."""


def _chart_view(block: Chart, look: Look) -> View:
    across, down = look.page
    shapes = block.with_shapes and look.big == "shapes"
    above, below = look.beside
    head = above if block.stage else _ALONE_HEAD if block.alone else _HEAD
    across = min(across, look._replace(paper="A4").page[0])
    pages = chart_pages(
        block,
        width=across,
        height=down - head + (_SPARE - below if block.stage else 0.0),
        paged_to=(down - head, down - _FOOT),
        left_handed=look.left_handed,
        big=look.big,
    )
    return {
        "pages": [Markup(page) for page in pages],
        "with_shapes": block.with_shapes,
        "with_labels": block.with_labels,
        "aloud": ("sounds ", ", shape ") if not shapes else ("shape ", ", sounds "),
        "stage": block.stage,
        "sections": [
            {
                "name": each.section.name or "outside the form",
                "passes": section_passes(each),
                "bars": f"{'bars' if '-' in each.section.bars else 'bar'} "
                f"{with_dashes(each.section.bars)}{fold_said(each)}",
                "about": section_about(each.section),
                "said": each.section.said,
                "tacet": not each.section.has_bars,
                "rows": [
                    {
                        "ending": each.ending_of(number),
                        "upbeat": bool(each.upbeat) and number == 0,
                        "bars": [
                            _bar(
                                bar, bar_passes(each, bar), starts_row=bar is row[0], shapes=shapes
                            )
                            for bar in row
                        ],
                    }
                    for number, row in enumerate(each.rows if each.section.rows else ())
                ],
            }
            for each in fold(block.sections)
        ],
    }


def _bar(bar: ChartBar, passes: str, *, starts_row: bool, shapes: bool) -> View:
    return {
        "number": bar.bar,
        "passes": passes,
        "over": with_dashes(bar.said),
        "tokens": _tokens(bar, starts_row=starts_row, shapes=shapes),
        "tune": bar.tune,
        "words": [f"{each.verse}. {each.text}" if each.verse else each.text for each in bar.words],
    }


def _tokens(bar: ChartBar, *, starts_row: bool, shapes: bool) -> list[View]:
    """What stands in a bar; where shapes are the larger names, they stand above what sounds."""
    return [
        {
            "above": shape if shapes and concert not in (HELD, SLASH, SILENT) else concert,
            "below": concert if shapes else shape,
            "label": label,
            "sign": concert in (HELD, SLASH, SILENT),
            "slash": concert == SLASH,
        }
        for concert, shape, label in bar_tokens(bar, starts_row=starts_row)
    ]


def _strip_key(strip: Strip, *, with_sound: bool) -> str:
    """How to read a strip: only what is on it."""
    said = ["Broken outline: recorded; filled: used"]
    if with_sound:
        said.append("inside, how loud it is")
    if any(take.punched for take in strip.takes):
        said.append("notch over a take: punched in")
    if any(run.fade for run in strip.runs):
        said.append("wedge: crossfade")
    if any(run.moved for run in strip.runs):
        said.append("under a stretch: the bars it comes from, where those are others")
    key = f"{'; '.join(said)}."
    if strip.spare:
        key += f" Also good, not used: {_takes(strip.spare)}."
    if strip.left_out:
        word = "take" if strip.left_out == 1 else "takes"
        key += f" {strip.left_out} more {word} not shown: neither used nor complete."
    return key


def _takes(names: Sequence[str]) -> str:
    return f"{'take' if len(names) == 1 else 'takes'} {', '.join(names)}"


def bar_map_view(block: BarMap, look: Look) -> View:
    """The comp to scale, or box by box where there is no strip."""
    if block.strip is not None:
        outlines = outlines_of(block.strip) if look.sounds else {}
        return {
            "strip": Markup(strip_svg(block.strip, outlines=outlines)),
            "lines": [
                Markup(
                    strip_svg(line, _NARROW, outlines_of(line) if outlines else None, _NARROW_NAMES)
                )
                for line in strip_lines(block.strip, _NARROW_BARS)
            ],
            "key": _strip_key(block.strip, with_sound=bool(outlines)),
        }
    return {
        "strip": "",
        "rows": [
            {
                "name": row.section or "outside the form",
                "svg": Markup(comp_row_svg(row, block.rows)),
            }
            for row in block.rows
            if row.cells
        ],
        "takes": [
            {"svg": Markup(key.swatch), "said": key.said, "label": key.label}
            for key in take_keys(block.rows)
        ],
        "marks": bar_map_marks(block.rows),
    }
