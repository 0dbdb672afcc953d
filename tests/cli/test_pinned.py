"""Comps that still mean the same when a number is used again; titles with strokes; line numbers."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import Typed

FILE = """
[[session]]
name = "one"
date = 2026-05-02
[[session]]
name = "two"
date = 2026-05-04
[[song]]
title = "Salt / Water"
[[song.version]]
name = "live / loud"
rate = 44.1
meter = "4/4"
tempo = 100
form = ["verse 1-8"]
[[song.version.part]]
name = "viola"
takes.one = ["1 keeper 1-8", "2 complete 1-8"]
comp = ["1-2 take 1",
  "3-4 take 2",
  "5-8 take 1"]
"""


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    (tmp_path / "s.toml").write_text(FILE)
    found = Typed(str(tmp_path / "log.db"), capsys)
    found(["load", str(tmp_path / "s.toml")])
    return found


def test_a_second_take_1_leaves_the_older_comp_what_it_was(typed: Typed, tmp_path: Path) -> None:
    assert 'comp = ["1-2 take 1", "3-4 take 2", "5-8 take 1"]' in typed("dump")
    before = typed("check", 0)
    where = ["--song", "Salt / Water", "-p", "viola"]
    typed(["take", "add", "keeper", "1-8", "-n", "1", "-s", "two", *where])
    assert '"1-2 take 1/one", "3-4 take 2", "5-8 take 1/one"' in typed("dump")
    assert typed("check", 0) == before
    # The file of the first day, loaded again, says what it said.
    assert "nothing to add or change" in typed(["load", str(tmp_path / "s.toml")])
    typed("undo")
    assert 'comp = ["1-2 take 1", "3-4 take 2", "5-8 take 1"]' in typed("dump")


def test_a_title_with_a_stroke_can_be_named_everywhere(typed: Typed, tmp_path: Path) -> None:
    more = tmp_path / "more.toml"
    more.write_text(
        '[[setlist]]\nname = "x"\nentries = ["opener: Salt / Water / live / loud +"]\n'
        '[[project]]\ntitle = "Rec"\ntracks = ["Salt / Water"]\n'
    )
    typed(["load", str(more)])
    dumped = typed("dump")
    assert "opener: Salt / Water / live / loud +" in dumped
    (tmp_path / "all.toml").write_text(dumped)
    assert "nothing to add or change" in typed(["load", str(tmp_path / "all.toml")])
    typed("here 'Salt / Water' 'live / loud' viola")
    said = ("at 3", "takes 'Salt / Water'", "song show 'salt / water'", "sheet 'Salt / Water'")
    for line in said:
        typed(line)
    (tmp_path / "day.txt").write_text("song Salt / Water\npart viola\nt3 complete 1-8\n")
    typed(["note", str(tmp_path / "day.txt")])
    assert "3 complete 1-8" in typed("dump")


def test_every_line_of_a_list_has_its_own_number(typed: Typed, tmp_path: Path) -> None:
    wrong = FILE.replace('"3-4 take 2"', '"3-4 tk 2"').replace('"5-8 take 1"', '"huh"')
    (tmp_path / "w.toml").write_text(wrong)
    said = typed(["load", str(tmp_path / "w.toml")], 2)
    lines = wrong.splitlines()
    for words in ('"3-4 tk 2"', '"huh"'):
        at = next(n for n, line in enumerate(lines, 1) if words in line)
        assert f"line {at}: " in said
        assert words in said.split(f"line {at}: ")[1].splitlines()[0]
