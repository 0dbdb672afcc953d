"""`sheet` on the sample session, as it is typed."""

from __future__ import annotations

import json
import webbrowser
from pathlib import Path

import pytest

from logbook.cli.main import run
from logbook.sheets.catalog import FORMS, SHEETS

pytestmark = pytest.mark.usefixtures("sample")

Capture = pytest.CaptureFixture[str]


def test_a_sheet_by_the_beginning_of_a_title(capsys: Capture) -> None:
    assert run(["sheet", "low"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split("  ")[0] == "LOW TIDE LEDGER"
    assert "\x1b" not in "".join(lines)
    assert max(map(len, lines)) <= 80


def test_a_wider_page_is_used(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "120")
    assert run(["sheet", "low"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert 80 < max(map(len, lines)) <= 120


def test_the_sheet_of_one_part(capsys: Capture) -> None:
    assert run(["sheet", "varn", "--part", "high"]) == 0
    said = capsys.readouterr().out
    assert "HIGH GUITAR" in said
    assert "\nBASS" not in said


def test_the_sheet_says_what_the_checks_found(capsys: Capture) -> None:
    assert run(["sheet", "varnish"]) == 0
    assert "Am7 is the shape name" in " ".join(capsys.readouterr().out.split())


def test_json_is_the_same_as_data(capsys: Capture) -> None:
    assert run(["sheet", "lantern", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    (part,) = data["versions"][0]["parts"]
    assert part["rig"]["capo"] == "fret 5, all strings"
    # DADGAD with the capo at 5: five semitones up on every string.
    assert [each["with_capo"] for each in part["rig"]["strings"]] == [
        *("G2", "D3", "G3", "C4", "D4", "G4")
    ]
    assert run(["sheet", "lantern", "--as", "json"]) == 0
    assert json.loads(capsys.readouterr().out) == data


def test_markdown_by_the_ending_of_the_file(tmp_path: Path, capsys: Capture) -> None:
    page = tmp_path / "rowan.md"
    assert run(["sheet", "rowan", "--out", str(page)]) == 0
    assert capsys.readouterr().out == f"wrote {page}\n"
    assert page.read_text(encoding="utf-8").startswith("# Rowan Gate (player's sheet)\n")


def test_a_sheet_is_opened(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Capture
) -> None:
    opened: list[str] = []

    def open_page(address: str) -> bool:
        opened.append(address)
        return True

    monkeypatch.setattr(webbrowser, "open", open_page)
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    assert run(["sheet", "rowan", "--as", "markdown", "--open"]) == 0
    assert len(opened) == 1
    assert opened[0].startswith("file://")
    assert opened[0].endswith("Rowan-Gate.md")


def test_nothing_that_opens_a_file_is_said(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Capture
) -> None:
    monkeypatch.setattr(webbrowser, "open", lambda _: False)
    assert run(["sheet", "rowan", "--out", str(tmp_path / "a.txt"), "--open"]) == 2
    assert "nothing on this computer opens" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["low", "--for", "horse"], "use player"),
        (["low", "--as", "stone"], "use text"),
        (["low", "--as", "text", "--json"], "give one of them"),
        (["low", "--part", "harp"], "harp"),
        (["low", "--version", "radio"], "radio"),
        (["no such song"], "no such song"),
        (["low", "--out", "/no/such/folder/x.md"], "/no/such/folder"),
    ],
)
def test_a_mistake_is_one_sentence(words: list[str], says: str, capsys: Capture) -> None:
    assert run(["sheet", *words]) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert caught.err.count("\n") == 1
    assert caught.out == ""


def test_a_terminal_without_drawing_characters_gets_plain_ones(
    monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.setattr("logbook.cli.forms._can_show", lambda _: False)
    assert run(["sheet", "low", "--part", "guitar"]) == 0
    assert capsys.readouterr().out.isascii()


def test_the_help_lists_what_there_is(capsys: Capture) -> None:
    assert run(["sheet", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "|".join(SHEETS) in said
    assert all(form in said for form in FORMS)
