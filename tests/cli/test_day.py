"""A day written with commands and the same day as notebook lines end in the same log."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from logbook.cli.main import run
from tests.benchmarks.bench_day import COMMANDS, LINES, music
from tests.cli.typed import Typed


@pytest.fixture
def typed(empty_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    path = tmp_path / "commands.db"
    path.write_bytes(empty_file.read_bytes())
    return Typed(str(path), capsys)


def test_commands_and_lines_say_the_same(
    typed: Typed, empty_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The day's first song; the benchmark compares all of them."""
    for line in COMMANDS.split('logbook song add "Lamp Oil"')[0].splitlines():
        words = shlex.split(line)[1:]
        assert run(["--db", typed.db, *words]) == 0, (line, capsys.readouterr().err)
    written = Typed(str(tmp_path / "lines.db"), capsys)
    Path(written.db).write_bytes(empty_file.read_bytes())
    said = written(["note", LINES.split("song Lamp Oil")[0]])
    assert "left as remarks" not in said
    by_commands, by_lines = (
        music(each.json("song show saltpan")["record"]) for each in (typed, written)
    )
    assert by_commands == by_lines
    (version,) = by_lines[1]
    assert [part["name"] for part in version[-1]] == ["guitar", "high"]


def test_the_day_is_as_long_as_a_day() -> None:
    assert len(COMMANDS.splitlines()) == 113
    assert LINES.count("\nsong ") == 3
