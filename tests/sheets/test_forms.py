"""Markdown and JSON: nothing in a name is taken for markup, and the data is whole."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from logbook.errors import LogbookError
from logbook.sheets.catalog import FORMS, SHEETS, draw_sheet, make_sheet, suffix_of
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.markdown import escaped, fenced

sys.path.insert(0, str(Path(__file__).parent))
from material import EP, FERRY, GUITAR, LOG

HOSTILE = "a*b* _c_ [d](http://e) <script>alert(1)</script> `f` | # g & &amp; ~~h~~ $i$ \\"
# CommonMark 0.31 with the tables of GitHub's, read by an independent library.
READER = MarkdownIt("commonmark").enable("table").enable("strikethrough")


def drawn(form: str, title: str = "The Ferry Bell", log: Any = LOG) -> str:
    sheet = draw_sheet(make_sheet("player", log, Wanted(title)), form, Look())
    assert isinstance(sheet, str)
    return sheet


def texts(markdown: str) -> list[str]:
    """The text of every inline stretch, and nothing where it holds any markup."""
    found = []
    for token in READER.parse(markdown):
        if token.type == "inline":
            assert token.children is not None
            kinds = {child.type for child in token.children}
            assert kinds <= {"text", "strong_open", "strong_close"}, token.content
            found.append("".join(child.content for child in token.children))
    return found


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp"))))
def test_escaped_text_reads_back_as_it_was(text: str) -> None:
    wanted = " ".join(text.split())
    assert "".join(texts(escaped(text))) == wanted.strip()
    assert texts(f"## {escaped(text)}")[:1] == ([wanted] if wanted else [""])


@pytest.mark.parametrize(
    "text", ["# no heading", "1. May", "12) x", "- x", "+ x", "=", "> q", "C#", "a #"]
)
def test_the_beginning_of_a_line_is_no_markup(text: str) -> None:
    assert texts(escaped(text)) == [text]
    assert not any(
        token.type in ("heading_open", "list_item_open") for token in READER.parse(escaped(text))
    )


def test_a_fence_is_longer_than_any_inside() -> None:
    tokens = READER.parse(fenced(["a", "```", "# b"]))
    assert [(token.type, token.content) for token in tokens] == [("fence", "a\n```\n# b\n")]


def test_hostile_names_are_text_in_markdown() -> None:
    part = replace(GUITAR, name=HOSTILE, player=HOSTILE, notes=HOSTILE, pan="- left")
    log = replace(
        LOG, songs=(replace(FERRY, title=HOSTILE, versions=(replace(EP, parts=(part,)),)),)
    )
    found = texts(drawn("markdown", HOSTILE, log))
    assert f"{HOSTILE} (player's sheet)" in found
    assert f"notes: {HOSTILE}" in found


def test_markdown_tables_keep_their_columns() -> None:
    tokens = READER.parse(drawn("markdown"))
    rows: list[int] = []
    for token in tokens:
        if token.type == "table_open":
            rows = []
        elif token.type == "tr_open":
            rows.append(0)
        elif token.type in ("th_open", "td_open"):
            rows[-1] += 1
        elif token.type == "table_close":
            assert len(set(rows)) == 1
    assert sum(token.type == "table_open" for token in tokens) >= 8


def test_markdown_holds_diagrams_upright() -> None:
    fences = [token.content for token in READER.parse(drawn("markdown")) if token.type == "fence"]
    assert any("   5 2 │ │ │ │ 3 3 " in fence for fence in fences)
    assert any("   1 │ A           │ ·  " in fence for fence in fences)


def test_json_holds_everything_under_stable_names() -> None:
    data = json.loads(drawn("json"))
    assert list(data) == ["sheet", "song", "iswc", "writers", "said", "versions", "checks"]
    part = data["versions"][0]["parts"][0]
    assert list(part) == [
        *("name", "player", "heard", "rig", "hand", "technique", "technique_notes", "chain"),
        *("recall", "pan", "people", "tacet", "said", "chords", "patterns", "chart", "melody"),
        *("edit", "unreadable"),
    ]
    card = part["chords"][0]
    assert card["concert"] == "A"
    assert card["shape"] == "G"
    assert card["notes"] == ["A2", "C#3", "E3", "A3", "C#4", "A4"]
    assert card["from_nut"] == "5 4 0 0 0 5"
    assert "drawn" not in card
    assert part["edit"]["takes"][1]["result"] == "keeper"
    cell = part["edit"]["rows"][0]["cells"][0]
    (taken,) = cell.pop("takes")
    assert (taken["number"], taken["session"], taken["version"]) == (2, "boathouse Saturday", "")
    assert cell == {
        "bar": 1,
        "is_gap": False,
        "is_partly_empty": False,
        "is_overlap": False,
        "is_moved": False,
        "is_repeated": False,
        "is_punched": False,
    }


def test_every_sheet_and_form_listed_is_there() -> None:
    for kind in SHEETS:
        sheet = make_sheet(kind, LOG, Wanted("The Ferry Bell"))
        for form in FORMS:
            assert suffix_of(form).startswith(".")
            if form != "pdf":  # slow, and an extra: test_html.py draws one
                assert draw_sheet(sheet, form, Look())


@pytest.mark.parametrize(
    "ask", [lambda: suffix_of("stone"), lambda: make_sheet("x", LOG, Wanted("y"))]
)
def test_what_is_not_listed_is_answered_with_what_is(ask: Any) -> None:
    with pytest.raises(LogbookError, match=r"use (text|player)"):
        ask()
