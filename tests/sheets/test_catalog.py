"""Whatever a sheet is made from is made harmless, by the catalogue and by nobody else."""

from __future__ import annotations

import sys
from dataclasses import replace
from types import ModuleType
from typing import Any, NamedTuple

import pytest

from logbook.records import Log
from logbook.sheets import catalog
from logbook.sheets.blocks import Heading, Paragraph
from logbook.sheets.catalog import FORMS, draw_sheet, make_sheet
from logbook.sheets.harmless import harmless
from logbook.sheets.looks import Look, Sheet, Wanted
from tests.sheets.material import FERRY, GUITAR, LOG

NASTY = "gtr\x1b[2J\u202e"


class Told(NamedTuple):
    """The data of a sheet by somebody who has read nothing about control codes."""

    text: str


def forgetful(subject: Any, wanted: Wanted) -> Sheet:
    text = subject.songs[0].title if isinstance(subject, Log) else str(subject[0])
    blocks = (Heading(1, text), Paragraph(f"{text} {wanted.part}"))
    return Sheet("forgetful", text, Told(text), blocks)


@pytest.fixture
def forgotten(monkeypatch: pytest.MonkeyPatch) -> str:
    """A new sheet that makes nothing harmless itself."""
    module = ModuleType("tests_forgetful_sheet")
    module.build = forgetful  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "tests_forgetful_sheet", module)
    monkeypatch.setitem(catalog.SHEETS, "forgetful", "tests_forgetful_sheet")
    return "forgetful"


@pytest.mark.parametrize("form", [form for form in FORMS if form != "pdf"])
def test_a_sheet_that_forgets_is_harmless_all_the_same(forgotten: str, form: str) -> None:
    log = replace(LOG, songs=(replace(FERRY, title=NASTY),))
    for subject in (log, (NASTY,), [NASTY]):
        drawn = draw_sheet(make_sheet(forgotten, subject, Wanted("", part=NASTY)), form, Look())
        assert isinstance(drawn, str)
        assert "\x1b" not in drawn
        assert "\u202e" not in drawn
        assert "gtr" in drawn


def test_everything_in_a_subject_is_made_harmless_and_the_rest_is_the_same_object() -> None:
    part = replace(GUITAR, name=NASTY)
    made = harmless((part, {"name": [NASTY]}, Told(NASTY), LOG))
    assert made[0].name == "gtr␛[2J<U+202E>"
    assert made[1] == {"name": ["gtr␛[2J<U+202E>"]}
    assert made[2] == Told("gtr␛[2J<U+202E>")
    assert made[3] is LOG
    assert made[0].takes is GUITAR.takes


def test_no_sheet_cleans_by_itself() -> None:
    from pathlib import Path

    folder = Path(catalog.__file__).parent
    users = [p.name for p in folder.glob("*.py") if "import harmless" in p.read_text("utf-8")]
    # The photographs on a page of the book are of no sheet, so nobody has cleaned them before; and
    # what a live page plays is arranged anew, beside the sheet.
    assert sorted(users) == ["catalog.py", "play_data.py", "recalls.py"]
