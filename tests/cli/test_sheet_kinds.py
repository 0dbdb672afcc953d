"""`logbook sheet` for each reader and in each form, as it is typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from logbook.cli.main import run


@pytest.mark.parametrize("kind", ["player", "lesson", "live", "credits"])
@pytest.mark.parametrize("form", ["text", "markdown", "html", "json"])
def test_every_sheet_is_printed_in_every_form(
    kind: str, form: str, sample: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["sheet", "low", "--for", kind, "--as", form]) == 0
    said = capsys.readouterr().out
    assert "low tide ledger" in said.lower()
    if form == "json":
        assert json.loads(said)["sheet"] == kind
    if form == "html":
        assert said.startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("name", "start"),
    [("a.html", b"<!DOCTYPE html>"), ("a.md", b"# Low Tide"), ("a.json", b"{"), ("a.txt", b"LOW ")],
)
def test_the_ending_of_the_file_says_the_form(
    name: str, start: bytes, sample: str, tmp_path: Path
) -> None:
    file = tmp_path / name
    assert run(["sheet", "low", "--for", "live", "--out", str(file)]) == 0
    assert file.read_bytes().startswith(start)


def test_a_pdf_goes_to_its_file(sample: str, tmp_path: Path) -> None:
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed")
    file = tmp_path / "credits.pdf"
    assert run(["sheet", "varnish", "--for", "credits", "--out", str(file)]) == 0
    assert file.read_bytes().startswith(b"%PDF-")


def test_an_arrangement_is_named_for_the_live_sheet_alone(
    sample: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["sheet", "low", "--for", "live", "--arrangement", "harbour stage"]) == 0
    assert "quarter = 100" in capsys.readouterr().out
    assert run(["sheet", "low", "--for", "live", "--arrangement", "nowhere"]) == 2
    assert "it could be harbour stage" in capsys.readouterr().err
    assert run(["sheet", "low", "--arrangement", "harbour stage"]) == 2
    assert "add --for live" in capsys.readouterr().err


def test_a_left_hand_is_told_so(sample: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", "low", "--part", "guitar", "--left-handed"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "drawn for the left hand, the bass string on the right" in said


def test_a_kind_that_is_not_there_is_answered_with_those_that_are(
    sample: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["sheet", "low", "--for", "drummer"]) == 2
    assert "use player, lesson, live, credits" in capsys.readouterr().err
