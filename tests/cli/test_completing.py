"""What the shell completes: names by any word, versions and parts of the current song."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from logbook.cli import paging
from logbook.cli.completing import complete_part, complete_session, complete_song, fitting
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
    monkeypatch.setenv("LINES", "10")
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
