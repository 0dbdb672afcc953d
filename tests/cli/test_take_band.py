"""`logbook take --band`: one command, a take of everybody who played, one undo."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.records.test_band import SONG


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    file = tmp_path / "session.toml"
    file.write_text(SONG, encoding="utf-8")
    typed = Typed(fresh(), capsys)
    typed(["load", str(file)])
    typed("here low album guitar")
    return typed


def numbers(typed: Typed, part: str) -> list[int]:
    return [each["number"] for each in typed.json(f"take list --part '{part}'")]


def test_one_pass_is_a_take_of_all_who_played_under_one_number(typed: Typed) -> None:
    typed("take f --part voice")
    said = typed("take keeper 1-12 --band 'all in one room'")
    assert said.startswith("take 2 of guitar, voice and mandolin: keeper, bars 1-12")
    assert "second guitar (Ada plays guitar)" in said
    assert (numbers(typed, "guitar"), numbers(typed, "voice")) == ([2], [1, 2])
    typed("undo --yes")
    assert (numbers(typed, "guitar"), numbers(typed, "voice")) == ([], [1])


def test_the_notebook_says_it_in_a_line(typed: Typed) -> None:
    said = typed(["note", "band keeper intro"])
    assert "take 1 of guitar, voice and mandolin" in said
    assert numbers(typed, "mandolin") == [1]
    typed("undo --yes")
    assert numbers(typed, "guitar") == numbers(typed, "mandolin") == []
    assert "--band" in typed("take k --band --part guitar", 2)
