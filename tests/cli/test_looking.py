"""What brings many songs in at once looks at them, so that a check need not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import logbook.checking
from logbook.checking import Problem
from logbook.cli.main import run
from logbook.records import Log, Song

SAMPLE = Path(__file__).parents[2] / "sample_session"
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The titles of the songs that are looked at, in order."""
    titles: list[str] = []
    usual = logbook.checking.check_song

    def check_song(log: Log, song: Song) -> tuple[Problem, ...]:
        titles.append(song.title)
        return usual(log, song)

    monkeypatch.setattr(logbook.checking, "check_song", check_song)
    return titles


def test_a_load_looks_at_its_songs_and_a_check_only_at_what_changed_since(
    fresh: Callable[[], str], looked: list[str], capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LOGBOOK_DB", fresh())
    assert run(["load", str(SAMPLE)]) == 0
    assert len(looked) == 4
    looked.clear()
    assert run(["check"]) == 1
    assert looked == []
    assert "4 songs: 1 contradiction." in capsys.readouterr().out
    assert run(["version", "edit", "EP", "--song", "varnish", "--key", "E"]) == 0
    assert run(["check"]) == 1
    assert looked == ["Varnish"]


def test_a_check_of_one_song_is_always_fresh(
    sample: str, looked: list[str], capsys: Capture
) -> None:
    assert run(["check", "varnish"]) == 1
    assert run(["check", "varnish"]) == 1
    assert looked == ["Varnish", "Varnish"]
