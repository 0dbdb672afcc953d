"""A sheet as CSV (RFC 4180, lines ended by a line feed): the rows it has for a spreadsheet.

No cell is one that a spreadsheet would run as a formula.
"""

from __future__ import annotations

import csv
import io

from logbook.errors import LogbookError
from logbook.plaintext import csv_cell
from logbook.sheets.looks import Look, Sheet

SUFFIX = ".csv"


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet's rows. Raises LogbookError where the sheet is no table."""
    del look
    if not sheet.rows:
        raise LogbookError(f"a {sheet.kind} sheet has no rows for a spreadsheet", "write another")
    made = io.StringIO()
    cells = [[csv_cell(cell) for cell in row] for row in sheet.rows]
    csv.writer(made, lineterminator="\n").writerows(cells)
    return made.getvalue()
