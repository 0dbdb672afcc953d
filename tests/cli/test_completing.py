"""What the shell completes: names by any word, versions and parts of the current song."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from logbook.cli import paging
from logbook.cli.completing import complete_part, complete_session, complete_song, fitting
from logbook.cli.main import run
from tests.cli.typed import Typed


def test_any_word_of_a_name_will_do() -> None:
    names = ["Saltpan Road", "Road to Weir", "Élan", "Low Water"]
    assert fitting("road", names) == ["Road to Weir", "Saltpan Road"]
    assert fitting("el", names) == ["Élan"]
    assert fitting("", names) == names
    assert fitting("zz", names) == []


def test_songs_parts_and_sessions(
    fresh: Callable[[], str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from logbook.cli.log import settings

    typed = Typed(fresh(), capsys)
    typed(["note", "session Harbour loft, today\nsong One Road\npart guitar\npart high voice"])
    typed(["note", "song Two\npart bass"])
    monkeypatch.setattr(settings, "db", typed.db)
    assert complete_song("road") == ["One Road"]
    assert complete_session("loft") == ["Harbour loft"]
    assert complete_part("") == ["bass"]
    typed("here one")
    assert complete_part("vo") == ["high voice"]
    typed("here --forget")
    assert complete_part("") == ["guitar", "high voice", "bass"]
    monkeypatch.setattr(settings, "db", "/nowhere/at/all.db")
    assert complete_song("") == []


class Screen:
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_text_longer_than_the_terminal_goes_through_the_pager(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shown: list[str] = []

    def pager(text: str, color: bool | None = None) -> None:
        shown.append(text)

    monkeypatch.setattr("click.echo_via_pager", pager)
    monkeypatch.setenv("PAGER", "less")
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("LINES", "12")
    monkeypatch.setenv("COLUMNS", "80")
    long = "line\n" * 30
    assert not paging.paged(long), "nobody sits at a terminal"
    fakes: list[tuple[str, Any]] = [("sys.stdin", Screen()), ("sys.stdout", Screen())]
    for name, fake in fakes:
        monkeypatch.setattr(name, fake)
    assert paging.paged(long)
    assert shown == [long]
    assert not paging.paged("line\n" * 3)
    monkeypatch.setenv("PAGER", "cat")
    assert not paging.paged(long)


class Terminal:
    """A text stream that says it is a terminal, and keeps what it shows."""

    encoding = "utf-8"
    errors = "strict"

    def __init__(self) -> None:
        self.shown = ""

    def write(self, text: str) -> int:
        if not isinstance(text, str):
            raise TypeError("text only")
        self.shown += text
        return len(text)

    def flush(self) -> None:
        """Nothing waits."""

    def isatty(self) -> bool:
        return True


def sit_down(monkeypatch: pytest.MonkeyPatch) -> tuple[Terminal, list[str]]:
    """Sit at a terminal of twelve lines; return what it shows, and what its pager was given."""
    shown: list[str] = []
    screen = Terminal()

    def pager(text: str, color: bool | None = None) -> None:
        shown.append(text)

    monkeypatch.setattr("click.echo_via_pager", pager)
    for name, value in (("PAGER", "less"), ("TERM", "xterm"), ("LINES", "12"), ("COLUMNS", "80")):
        monkeypatch.setenv(name, value)
    for name in ("sys.stdin", "sys.stdout", "sys.stderr"):
        monkeypatch.setattr(name, screen)
    return screen, shown


@pytest.mark.parametrize(
    "line",
    [
        "--help",
        "chord --help",
        "sheet low --part guitar",
        "comp low guitar",
        "history",
        "song show low --json",
        "dump low",
        "arrange low",
        "tuning list",
    ],
)
def test_every_long_answer_to_a_terminal_goes_through_the_pager(
    sample_file: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    screen, shown = sit_down(monkeypatch)
    run(["--db", str(sample_file), *shlex.split(line)])
    (text,) = shown
    assert text.count("\n") >= 12
    assert screen.shown == ""
    run(["--db", str(sample_file), *shlex.split(line), "--no-pager"])
    assert len(shown) == 1
    # Colour is for a pager that can show it; the words are the same.
    assert screen.shown == text


def test_a_short_answer_and_a_question_are_printed_at_once(
    sample_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen, shown = sit_down(monkeypatch)
    assert run(["--db", str(sample_file), "song", "list"]) == 0
    assert screen.shown.splitlines() == [
        "title", "Low Tide Ledger", "Lantern on the Slip", "Varnish", "Rowan Gate",
    ]  # fmt: skip
    asked: list[str] = []

    def answer() -> str:
        asked.append(screen.shown)
        return "no"

    monkeypatch.setattr("builtins.input", answer)
    assert run(["--db", str(sample_file), "song", "remove", "varnish"]) == 2
    assert "Type yes" in asked[0], "a question is seen before it is to be answered"
    assert "nothing was changed" in screen.shown
    assert not shown
