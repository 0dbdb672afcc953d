"""Every command that writes says the same in every form it can, and refuses the others."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command

from logbook.cli.main import app, run
from logbook.sheets import pdf

Capture = pytest.CaptureFixture[str]

WRITING = {
    "sheet": ["sheet", "low"],
    "comp": ["comp", "low", "guitar"],
    "takes": ["takes", "low"],
    "two takes": ["takes", "low", "guitar", "--beside", "2", "--beside", "3"],
    "credits": ["credits", "low"],
    "set list": ["setlist", "pier"],
    "stage": ["setlist", "pier", "--stage"],
    "arrange": ["arrange", "low", "--recorded", "--key", "D"],
    "what differs": ["arrange", "low", "--recorded", "--key", "D", "--diff"],
    "ways": ["arrange", "low", "--recorded", "--key", "D", "--ways", "guitar"],
    "keys": ["arrange", "low", "--keys-for", "A3-D5"],
    "chord": ["chord", "x02210", "--ways", "2"],
    "named": ["chord", "--name", "Dadd9"],
    "capo": ["capo", "D A G", "--key", "D"],
    "song's capo": ["capo", "low"],
}
# These need a log that holds something of theirs before they answer; they refuse before they look.
REFUSING = {
    "input list": ["input", "list"],
    "recall sheet": ["recall", "sheet", "low"],
    "hours list": ["hours", "list"],
    "deliverable list": ["deliverable", "list"],
    "project sheet": ["project", "sheet", "Another"],
    "vote sheet": ["vote", "sheet", "low", "guitar"],
    "comp draft": ["comp", "draft", "low", "guitar"],
}
# A PDF is the page, laid out: these are; for the others it is seen that they would be.
LAID_OUT = ("sheet", "comp", "stage", "chord")
TABLES = {name: words for name, words in WRITING.items() if name != "sheet"}


SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"


@pytest.fixture(scope="module")
def log_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample session, and a set of two of its songs; nothing here changes it."""
    file = tmp_path_factory.mktemp("forms") / "log.db"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LOGBOOK_DB", str(file))
        assert run(["load", str(SAMPLE)]) == 0
        songs = ["--songs", "Low Tide Ledger / EP", "--songs", "Varnish / EP"]
        assert run(["setlist", "add", "pier", *songs]) == 0
    return file


@pytest.fixture
def log(log_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log that commands take as the usual one."""
    monkeypatch.setenv("LOGBOOK_DB", str(log_file))


@pytest.mark.usefixtures("log")
@pytest.mark.parametrize("name", WRITING)
def test_the_ending_of_the_file_says_the_form(
    name: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = WRITING[name]
    if name not in LAID_OUT:
        monkeypatch.setattr(pdf, "draw", lambda sheet, look: b"%PDF " + look.paper.encode())
    begins = {".txt": "", ".md": "#", ".html": "<!DOCTYPE html>", ".pdf": "%PDF", ".json": ""}
    for ending, start in begins.items():
        out = tmp_path / f"answer{ending}"
        assert run([*words, "--out", str(out)]) == 0
        capsys.readouterr()
        data = out.read_bytes()
        assert data.startswith(start.encode())
        assert (ending == ".pdf") == data.startswith(b"%PDF")
        if ending == ".json":
            json.loads(data)
        if ending == ".txt":
            assert b"\x1b" not in data
            assert max(map(len, data.decode().splitlines())) <= 80


@pytest.mark.usefixtures("log")
@pytest.mark.parametrize("words", TABLES.values(), ids=TABLES)
def test_a_table_can_be_had_for_a_spreadsheet(
    words: list[str], tmp_path: Path, capsys: Capture
) -> None:
    out = tmp_path / "answer.csv"
    assert run([*words, "--out", str(out)]) == 0
    capsys.readouterr()
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}
    assert all(rows[0])


@pytest.mark.usefixtures("log")
@pytest.mark.parametrize(
    "words", [*WRITING.values(), *REFUSING.values()], ids=[*WRITING, *REFUSING]
)
@pytest.mark.parametrize("ending", [".docx", ".otio2", ".png"])
def test_what_cannot_be_written_is_refused_with_what_can(
    words: list[str], ending: str, tmp_path: Path, capsys: Capture
) -> None:
    out = tmp_path / f"answer{ending}"
    assert run([*words, "--out", str(out)]) == 2
    err = capsys.readouterr().err
    assert f"cannot be written as {ending}" in err
    assert ".pdf" in err
    assert not out.exists()


@pytest.mark.usefixtures("log")
@pytest.mark.parametrize("words", WRITING.values(), ids=WRITING)
def test_no_text_lands_in_a_pdf(words: list[str], tmp_path: Path, capsys: Capture) -> None:
    out = tmp_path / "answer.pdf"
    for form in ("text", "json", "html"):
        assert run([*words, "--as", form, "--out", str(out)]) == 2
        assert "disagree" in capsys.readouterr().err
        assert not out.exists()
    assert run([*words, "--json", "--out", str(out)]) == 2
    assert not out.exists()


def test_a_file_without_an_ending_holds_text(tmp_path: Path, capsys: Capture) -> None:
    out = tmp_path / "answer"
    assert run(["chord", "x02210", "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"wrote {out}\n"
    assert "Am" in out.read_text(encoding="utf-8")


def test_many_voicings_in_a_file(tmp_path: Path, capsys: Capture) -> None:
    lines = tmp_path / "frets.txt"
    lines.write_text("x02210\nx32010 : C\n", encoding="utf-8")
    out = tmp_path / "chords.csv"
    assert run(["chord", "--batch", str(lines), "--out", str(out)]) == 0
    capsys.readouterr()
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["sounds"] for row in rows] == ["Am", "C"]
    page = tmp_path / "chords.html"
    assert run(["chord", "--batch", str(lines), "--moves", "--out", str(page)]) == 0
    assert "Top line" in page.read_text(encoding="utf-8")


@pytest.mark.usefixtures("log")
@pytest.mark.parametrize(
    "words",
    [WRITING["sheet"], WRITING["comp"], WRITING["chord"], WRITING["arrange"]],
    ids=["sheet", "comp", "chord", "arrange"],
)
def test_what_has_a_picture_can_be_had_as_one(
    words: list[str], tmp_path: Path, capsys: Capture
) -> None:
    from xml.etree import ElementTree

    out = tmp_path / "picture.svg"
    assert run([*words, "--out", str(out)]) == 0
    capsys.readouterr()
    root = ElementTree.parse(out).getroot()
    assert root.tag.endswith("svg")
    assert len(list(root.iter())) > 20


@pytest.mark.usefixtures("log")
def test_what_the_checks_found_stands_on_a_sheet_when_asked(capsys: Capture) -> None:
    assert run(["sheet", "low"]) == 0
    assert "WHAT THE CHECKS FOUND" not in capsys.readouterr().out
    assert run(["sheet", "low", "--checks"]) == 0
    assert "WHAT THE CHECKS FOUND" in capsys.readouterr().out


def test_a_sheet_without_a_picture_says_so(log: None, tmp_path: Path, capsys: Capture) -> None:
    out = tmp_path / "credits.svg"
    assert run(["sheet", "low", "--for", "credits", "--out", str(out)]) == 2
    assert "has no picture" in capsys.readouterr().err


def test_a_paper_there_is_not(tmp_path: Path, capsys: Capture) -> None:
    out = tmp_path / "answer.pdf"
    assert run(["chord", "x02210", "--paper", "napkin", "--out", str(out)]) == 2
    assert "use A4 or letter" in capsys.readouterr().err


def test_a_session_file_is_no_page(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "takes").mkdir()
    for words in (["dump"], ["draft", str(tmp_path / "takes")]):
        for ending in (".pdf", ".svg", ".json", ".docx"):
            out = tmp_path / f"log{ending}"
            assert run([*words, "--out", str(out)]) == 2
            err = capsys.readouterr().err
            assert f"cannot be written as {ending}" in err
            assert ".toml" in err
            assert not out.exists()


@pytest.mark.parametrize(("command", "usual"), [("export", ".jsonl"), ("backup", ".db")])
def test_a_whole_log_is_no_page(
    command: str, usual: str, log: None, tmp_path: Path, capsys: Capture
) -> None:
    file = tmp_path / "log.pdf"
    assert run([command, str(file)]) == 2
    assert f"cannot be written as .pdf; end the file in {usual}" in capsys.readouterr().err
    assert not file.exists()
    assert run([command, str(tmp_path / "log.kept")]) == 0  # an ending that says no form


def test_every_command_that_writes_a_file_is_tried_here() -> None:
    shown = {"comp": "comp show", "setlist": "setlist sheet"}
    tried = {shown.get(words[0], words[0]) for words in WRITING.values()}
    tried |= {"dump", "draft", "listen against", *REFUSING}
    found = set()
    for name, command in _commands(get_command(app)):
        for parameter in command.params:
            if "--out" in parameter.opts and parameter.metavar == "FILE":
                found.add(name)
    assert found == tried


def _commands(group: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Every command with its full name."""
    for name in group.list_commands(None):
        command = group.get_command(None, name)
        whole = f"{before} {name}".strip()
        yield whole, command
        if hasattr(command, "list_commands"):
            yield from _commands(command, whole)


def test_plain_signs_can_be_asked_for(log: None, tmp_path: Path, capsys: Capture) -> None:
    del log
    for words in (["sheet", "low"], ["sheet", "--ascii", "low", "--for", "live"]):
        assert run([*words, *([] if "--ascii" in words else ["--ascii"])]) == 0
        drawn = capsys.readouterr().out
        assert drawn.isascii()
        assert "F#m7" in drawn or "D/F#" in drawn
    assert run(["sheet", "low"]) == 0
    drawn = capsys.readouterr().out
    assert "F♯m7" in drawn
    assert "#" not in drawn
    out = tmp_path / "low.md"
    assert run(["sheet", "low", "--ascii", "--out", str(out)]) == 0
    assert out.read_text(encoding="utf-8").isascii()
