"""What a page shows of a chart and of a comp: pictures for paper, and rows that fit any screen."""

from __future__ import annotations

from markupsafe import Markup

from logbook.sheets.blocks import BarMap, Chart
from logbook.sheets.charts import ChartBar
from logbook.sheets.folding import bar_passes, fold, section_passes
from logbook.sheets.html_cards import View
from logbook.sheets.looks import Look
from logbook.sheets.signs import with_dashes
from logbook.sheets.svg_chart import chart_pages
from logbook.sheets.svg_comp import comp_row_svg, take_keys
from logbook.sheets.svg_strip import strip_svg
from logbook.sheets.text_bar_map import bar_map_marks
from logbook.sheets.text_chart import HELD, SILENT, SLASH, bar_tokens, fold_said, section_about

_HEAD, _STAGE_HEAD = 150.0, 305.0
"""What else stands on a chart's page, in points: title and facts, on stage also what changed."""


def chart_view(block: Chart, look: Look) -> View:
    """The chart twice: engraved for paper, and in rows that fit any screen."""
    across, down = look.page
    across = min(across, look._replace(paper="A4").page[0])
    pages = chart_pages(
        block,
        width=across,
        height=down - (_STAGE_HEAD if block.stage else _HEAD),
        left_handed=look.left_handed,
        big=look.big,
    )
    return {
        "pages": [Markup(page) for page in pages],
        "with_shapes": block.with_shapes,
        "with_labels": block.with_labels,
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
                        "ending": max(number - len(each.section.rows) + 1, 0),
                        "bars": [
                            _bar(bar, bar_passes(each, bar), starts_row=bar is row[0])
                            for bar in row
                        ],
                    }
                    for number, row in enumerate((*each.section.rows, *each.endings))
                ],
            }
            for each in fold(block.sections)
        ],
    }


def _bar(bar: ChartBar, passes: str, *, starts_row: bool) -> View:
    return {
        "number": bar.bar,
        "passes": passes,
        "over": with_dashes("  ".join((*bar.marks, *bar.notes))),
        "tokens": _tokens(bar, starts_row=starts_row),
        "words": [f"{each.verse}. {each.text}" if each.verse else each.text for each in bar.words],
    }


def _tokens(bar: ChartBar, *, starts_row: bool) -> list[View]:
    return [
        {
            "concert": concert,
            "shape": shape,
            "label": label,
            "sign": concert in (HELD, SLASH, SILENT),
            "slash": concert == SLASH,
        }
        for concert, shape, label in bar_tokens(bar, starts_row=starts_row)
    ]


def bar_map_view(block: BarMap, look: Look) -> View:
    """The comp to scale, or box by box where there is no strip."""
    del look
    if block.strip is not None:
        return {"strip": Markup(strip_svg(block.strip)), "left_out": block.strip.left_out}
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
