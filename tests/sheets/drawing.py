"""Sheets drawn as lines of text, for tests that read them."""

from __future__ import annotations

from typing import Any

from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look


def lines_of(kind: str, subject: Any, width: int = 80) -> list[str]:
    """The lines of a sheet as a terminal shows them."""
    drawn = draw_sheet(make_sheet(kind, subject), "text", Look(width))
    assert isinstance(drawn, str)
    return drawn.splitlines()
