from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plaintext import clean, csv_cell


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Ada Quill", "Ada Quill"),
        ("Zoë Ångström 李", "Zoë Ångström 李"),
        ("red\x1b[31m", "red␛[31m"),
        ("bell\x07", "bell␇"),
        ("null\x00", "null␀"),
        ("rub\x7fout", "rub␡out"),
        ("csi\x9b2J", "csi<U+009B>2J"),
        ("abc\u202etxt.exe", "abc<U+202E>txt.exe"),
        ("a\u2066b\u2069", "a<U+2066>b<U+2069>"),
        ("two\nlines", "two lines"),
        ("two\r\nlines", "two lines"),
        ("tab\there", "tab here"),
        ("line\u2028sep", "line sep"),
        ("bad\udc80name", "bad<U+DC80>name"),
        ("tag\U000e0041", "tag<U+E0041>"),
        ("no\u00a0break", "no\u00a0break"),
        ("family \U0001f468\u200d\U0001f469", "family \U0001f468\u200d\U0001f469"),
    ],
)
def test_control_codes_become_visible(text: str, shown: str) -> None:
    assert clean(text) == shown


def test_newlines_stay_in_a_note_when_asked() -> None:
    assert clean("one\r\ntwo\x1b", keep_newlines=True) == "one\ntwo␛"


@given(st.text(st.characters(codec=None)))
def test_nothing_a_terminal_acts_on_is_left_and_cleaning_twice_changes_nothing(text: str) -> None:
    once = clean(text)
    assert all(unicodedata.category(c) not in ("Cc", "Cs", "Zl", "Zp") for c in once)
    assert not any(unicodedata.bidirectional(c) in ("LRO", "RLO", "LRI", "RLI") for c in once)
    assert clean(once) == once
    once.encode("utf-8")


# The list of starting characters is that of the OWASP page "CSV Injection" (from memory).
@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "＝1", "-", "＠x"]
)
def test_a_cell_that_a_spreadsheet_would_run_is_made_text(text: str) -> None:
    assert csv_cell(text) == f"'{text}"


@pytest.mark.parametrize(
    "text",
    ["1/2", "3-8", "12/24/36", "5 Mar", "May 2", "2-Jan-26", "3.4.25", "10:30", "007", "1e5",
     "000000012103268X", "1234567890123456"],
)  # fmt: skip
def test_a_cell_that_a_spreadsheet_would_make_over_is_made_text(text: str) -> None:
    assert csv_cell(text) == f"'{text}"


@pytest.mark.parametrize(
    ("value", "cell"),
    [("2026-05-02", "2026-05-02"), ("33.34%", "33.34%"), ("12.500000", "12.500000"),
     ("3\N{EN DASH}8", "3\N{EN DASH}8"), ("T-034.524.680-1", "T-034.524.680-1"), ("44100", "44100"),
     ("Ada", "Ada"), ("a=b", "a=b"), ("", ""), (None, ""), (-3, "-3"), (-0.5, "-0.5"), (7, "7")],
)  # fmt: skip
def test_other_cells_stay_as_they_are(value: object, cell: str) -> None:
    assert csv_cell(value) == cell
