"""Which sheets there are, and which forms: one line each, and nothing is imported before asked for.

A sheet's module has `build(log, wanted) -> Sheet`; a form's module has `draw(sheet, look) -> str`
(or bytes) and `SUFFIX`.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.plaintext import clean
from logbook.sheets.looks import Look, Sheet, Wanted

if TYPE_CHECKING:
    from logbook.records.log import Log

SHEETS = {
    "player": "logbook.sheets.player_blocks",
    "lesson": "logbook.sheets.lesson_blocks",
    "live": "logbook.sheets.live_blocks",
    "credits": "logbook.sheets.credits_blocks",
}

FORMS = {
    "text": "logbook.sheets.text",
    "markdown": "logbook.sheets.markdown",
    "html": "logbook.sheets.html",
    "pdf": "logbook.sheets.pdf",
    "json": "logbook.sheets.json_form",
}


def make_sheet(kind: str, log: Log, wanted: Wanted) -> Sheet:
    """Work a sheet out. Raises LogbookError for a kind, song, version or part there is not."""
    module = import_module(_listed(kind, SHEETS, "sheet"))
    # A sheet's records are made harmless first, so what is sought in them must be as well.
    sheet: Sheet = module.build(log, Wanted(*map(clean, wanted)))
    return sheet


def draw_sheet(sheet: Sheet, form: str, look: Look) -> str | bytes:
    """Draw a sheet in a form. Raises LogbookError for a form there is not."""
    module = import_module(_listed(form, FORMS, "form"))
    drawn: str | bytes = module.draw(sheet, look)
    return drawn


def suffix_of(form: str) -> str:
    """The ending of a file in a form: ".md". Raises LogbookError for a form there is not."""
    suffix: str = import_module(_listed(form, FORMS, "form")).SUFFIX
    return suffix


def _listed(name: str, listed: dict[str, str], what: str) -> str:
    if name not in listed:
        raise LogbookError(f"there is no {what} called '{name}'", f"use {', '.join(listed)}")
    return listed[name]
