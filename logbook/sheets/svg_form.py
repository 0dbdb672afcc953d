"""A sheet's picture as one SVG file: its engraved charts, else its comp, else its diagrams.

Every page of a chart stands below the one before. The file needs nothing else; on paper it is drawn
in black, sizes are points.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from logbook.errors import LogbookError
from logbook.sheets.blocks import BarMap, Chart, Diagram, Heading
from logbook.sheets.looks import Look, Sheet
from logbook.sheets.svg_marks import text

SUFFIX = ".svg"
_TITLE, _GAP = 26.0, 14.0
_SIZE = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


def draw(sheet: Sheet, look: Look) -> str:
    """Return the picture. Raises LogbookError where the sheet has none."""
    found = list(_pictures(sheet, look))
    if not found:
        raise LogbookError(
            f"this {sheet.kind} sheet has no picture", "write it as text, html or pdf"
        )
    y = 0.0
    pieces = []
    widest = 0.0
    for title, picture in found:
        if title:
            y += _TITLE
            pieces.append(
                text(0, y - 9, title, size=14, font_weight="bold", text_anchor="start",
                     font_family="Helvetica, Arial, sans-serif")
            )  # fmt: skip
        across, down = _size(picture)
        pieces.append(picture.replace("<svg ", f'<svg y="{y:g}" ', 1))
        y += down + _GAP
        widest = max(widest, across)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{widest:g}pt" height="{y:g}pt" '
        f'viewBox="0 0 {widest:g} {y:g}" color="#000">'
        "<style>.paper{fill:#fff}.faint{fill:#444}</style>"
        f"{''.join(pieces)}</svg>\n"
    )


def _pictures(sheet: Sheet, look: Look) -> Iterator[tuple[str, str]]:
    from logbook.sheets.outlines import outlines_of
    from logbook.sheets.svg_chart import chart_pages
    from logbook.sheets.svg_strip import strip_svg

    across, down = look.page
    if any(isinstance(block, Chart) for block in sheet.blocks):
        names = [sheet.title]
        for block in sheet.blocks:
            if isinstance(block, Heading) and block.of_part:
                names = [sheet.title, block.text]
            elif isinstance(block, Chart):
                pages = chart_pages(
                    block, width=across, height=down - _TITLE,
                    left_handed=look.left_handed, big=look.big,
                )  # fmt: skip
                for number, page in enumerate(pages):
                    yield (", ".join(names) if number == 0 else "", page)
        return
    for block in sheet.blocks:
        if isinstance(block, BarMap) and block.strip is not None:
            yield (
                sheet.title,
                strip_svg(block.strip, across, outlines_of(block.strip) if look.sounds else None),
            )
        elif isinstance(block, Diagram):
            yield ", ".join(block.names), _diagram(block, look)


def _diagram(block: Diagram, look: Look) -> str:
    from logbook.sheets.html_views import block_view

    return str(block_view(block, look)["svg"])


def _size(picture: str) -> tuple[float, float]:
    found = _SIZE.search(picture)
    assert found is not None, "every picture of ours says its size"
    return float(found[1]), float(found[2])
