"""Which sheets there are, and which forms: one line each, and nothing is imported before asked for.

A sheet's module has `build(subject, wanted) -> Sheet`; a form's module has `draw(sheet, look)`,
which returns text or bytes, and `SUFFIX`. Here, and nowhere else, what a sheet is made from is
made harmless before it is built.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from logbook.errors import LogbookError
from logbook.plaintext import clean
from logbook.sheets.harmless import harmless
from logbook.sheets.looks import Look, Sheet, Wanted
from logbook.sheets.once import once

# Sheets of a song: made from a log.
SHEETS = {
    "player": "logbook.sheets.player_blocks",
    "lesson": "logbook.sheets.lesson_blocks",
    "live": "logbook.sheets.live_blocks",
    "credits": "logbook.sheets.credits_blocks",
    "chart": "logbook.sheets.chart_sheets",
}

# What commands answer: made from whatever the module says.
ANSWERS = {
    "chord": "logbook.sheets.voicings",
    "fingerings": "logbook.sheets.finger_ways",
    "chords": "logbook.sheets.voicing_lists",
    "capo": "logbook.sheets.capo_tables",
    "comp": "logbook.sheets.comps",
    "takes": "logbook.sheets.takes",
    "votes": "logbook.sheets.voted_comps",
    "two takes": "logbook.sheets.two_takes",
    "set list": "logbook.sheets.set_lists",
    "arrangement": "logbook.sheets.arranged",
    "arrangement answer": "logbook.sheets.arranged_answers",
    "stage": "logbook.sheets.stage_sets",
    "label copy": "logbook.sheets.label_copy",
    "recording": "logbook.sheets.other_recordings",
    "input list": "logbook.sheets.input_lists",
    "hours": "logbook.sheets.day_sheets",
    "deliverables": "logbook.sheets.deliverables",
    "recall": "logbook.sheets.recalls",
    "release": "logbook.sheets.releases",
}

# Every sheet can be had in these.
FORMS = {
    "text": "logbook.sheets.text",
    "markdown": "logbook.sheets.markdown",
    "html": "logbook.sheets.html",
    "pdf": "logbook.sheets.pdf",
    "json": "logbook.sheets.json_form",
}

# And in these where it is a table, or has a picture.
OTHER_FORMS = {
    "csv": "logbook.sheets.csv_form",
    "svg": "logbook.sheets.svg_form",
}


_harmless_log = once(1)(harmless)


def make_sheet(kind: str, subject: Any, wanted: Wanted | None = None) -> Sheet:
    """Work a sheet out of its subject; for the sheets of a song that is a log.

    Raises LogbookError for a kind, song, version or part there is not.
    """
    module = import_module(_listed(kind, SHEETS | ANSWERS, "sheet"))
    safe = _harmless_log(subject) if kind in SHEETS else harmless(subject)
    # The subject is made harmless, so what is sought in it must be as well.
    sheet: Sheet = module.build(safe, Wanted(*map(clean, wanted or Wanted(""))))
    return sheet


def draw_sheet(sheet: Sheet, form: str, look: Look) -> str | bytes:
    """Draw a sheet in a form. Raises LogbookError for a form there is not, or not of this sheet."""
    module = import_module(_listed(form, FORMS | OTHER_FORMS, "form"))
    drawn: str | bytes = module.draw(sheet, look)
    return drawn


def suffix_of(form: str) -> str:
    """The ending of a file in a form: ".md". Raises LogbookError for a form there is not."""
    suffix: str = import_module(_listed(form, FORMS | OTHER_FORMS, "form")).SUFFIX
    return suffix


def _listed(name: str, listed: dict[str, str], what: str) -> str:
    if name not in listed:
        raise LogbookError(f"there is no {what} called '{name}'", f"use {', '.join(listed)}")
    return listed[name]
