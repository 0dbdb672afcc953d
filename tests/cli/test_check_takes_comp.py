"""`check`, `takes` and `comp` on the sample session, as they are typed."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from logbook.cli.main import run
from tests.cli.typed import Typed

pytestmark = pytest.mark.usefixtures("sample")

Capture = pytest.CaptureFixture[str]


def test_check_finds_the_one_slip_and_says_so_by_its_exit_code(capsys: Capture) -> None:
    assert run(["check"]) == 1
    said = capsys.readouterr().out
    assert "Am7 is the shape name, not the concert name: what sounds is Cm7" in said
    assert "fix: write Cm7 as its name" in said
    assert "4 songs: 1 contradiction." in said


def test_check_of_one_song(capsys: Capture) -> None:
    assert run(["check", "low"]) == 0
    assert "Low Tide Ledger: no contradictions found." in capsys.readouterr().out
    assert run(["check", "varn", "--json"]) == 1
    (problem,) = json.loads(capsys.readouterr().out)
    assert problem["rule"] == "chord name"
    assert set(problem) == {"rule", "where", "what", "why", "mend", "kind"}


def test_check_of_a_song_that_is_not_there_names_the_closest(capsys: Capture) -> None:
    assert run(["check", "Low Tide Legder"]) == 2
    caught = capsys.readouterr()
    assert "Low Tide Ledger" in caught.err
    assert caught.out == ""


def test_the_take_list_marks_the_keeper_and_says_where_takes_are_used(capsys: Capture) -> None:
    assert run(["takes", "low", "guitar"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Low Tide Ledger, EP, guitar"
    second = next(line for line in lines if line.split()[:1] == ["2"])
    assert "3-6, 11-12" in second
    assert run(["takes", "rowan", "mand"]) == 0
    assert any(line.startswith(">  1") for line in capsys.readouterr().out.splitlines())


def test_the_take_list_as_data(capsys: Capture) -> None:
    assert run(["takes", "rowan", "guitar", "--json"]) == 0
    (part,) = json.loads(capsys.readouterr().out)
    assert [take["number"] for take in part["takes"]] == [1, 2]
    assert part["takes"][1]["keeper"] is True
    assert part["takes"][1]["punch_ins"] == ["6 pass 2 buzz on the low string"]


def test_two_takes_side_by_side(capsys: Capture) -> None:
    assert run(["takes", "low", "guitar", "--beside", "2", "--beside", "4"]) == 0
    said = capsys.readouterr().out
    assert "take 2" in said
    assert "take 4" in said
    assert "7-8, 9-10" in said
    assert run(["takes", "low", "guitar", "--beside", "2"]) == 2
    assert run(["takes", "low", "--beside", "2", "--beside", "4"]) == 2
    assert run(["takes", "low", "guitar", "--beside", "2", "--beside", "9"]) == 2
    assert "no take 9" in capsys.readouterr().err


def test_a_comp_told_and_drawn(capsys: Capture) -> None:
    assert run(["comp", "low", "guitar"]) == 0
    said = capsys.readouterr().out
    assert "Takes 2, 3 and 4" in said or "takes 2, 3 and 4" in said
    assert "bars 9-10 repeat 7-8" in said
    assert "not doubled" in said
    # 12 bars of 4/4 at 112: 12 * 4 * 60 / 112 s, in samples at 22050 Hz.
    assert f"{12 * 4 * 60 / 112:.3f} s" in said
    assert f"{round(12 * 4 * 60 / 112 * 22050)} samples at 22050 Hz" in said
    assert max(map(len, said.splitlines())) <= 80


def test_a_comp_as_rows(capsys: Capture, tmp_path: Path) -> None:
    assert run(["comp", "low", "guitar", "--as", "csv"]) == 0
    rows = list(csv.DictReader(capsys.readouterr().out.splitlines()))
    assert [row["take"] for row in rows] == ["3", "2", "4", "4", "2"]
    assert run(["comp", "low", "guitar", "--as", "csv", "--out", str(tmp_path / "c.csv")]) == 0
    assert len((tmp_path / "c.csv").read_text().splitlines()) == 6


def test_a_comp_as_data(capsys: Capture) -> None:
    assert run(["comp", "low", "guitar", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["final"] is True
    assert data["gaps"] == []
    assert data["length_bars"] == "12"
    assert "survey" not in data


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["comp", "low", "voice"], "no comp"),
        (["comp", "low", "guitar", "--as", "score"], "cannot be written as score"),
        (["comp", "low", "guitar", "--comp", "rough"], "rough"),
        (["comp", "low", "guitar", "--as", "timeline", "--out", "x.otio"], "no audio file"),
        (["comp", "low", "guitar", "--as", "timeline"], "--out"),
        (["takes", "low", "gitar"], "guitar"),
        (["takes"], "logbook here"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_cannot_be_done_is_one_sentence(words: list[str], says: str, capsys: Capture) -> None:
    assert run(words) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert len(caught.err.strip().splitlines()) == 1
    assert "Traceback" not in caught.err


def test_check_asked_for_less(capsys: Capture) -> None:
    assert run(["check", "--short"]) == 1
    said = capsys.readouterr().out
    assert "Varnish: 1\n  chord name: 1\n" in said
    assert "shape name" not in said
    assert run(["check", "--rule", "chord", "--about", "nowhere"]) == 0
    assert run(["check", "--rule", "nix"]) == 2
    assert "no rule is called" in capsys.readouterr().err


def test_load_says_how_many_contradictions_came_in(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "s.toml"
    file.write_text(
        '[[song]]\ntitle = "Tin Lid"\n[[song.version]]\nname = "demo"\nmeter = "4/4"\ntempo = 90\n'
        'form = ["verse 1-8"]\n[[song.version.part]]\nname = "bass"\ntakes = ["1 keeper 1-20"]\n'
    )
    assert run(["load", str(file)]) == 0
    assert "1 contradiction came in with it; logbook check says which" in capsys.readouterr().out
    assert run(["load", str(file)]) == 0
    assert "came in" not in capsys.readouterr().err


def test_many_of_one_rule_are_told_by_the_first_and_their_count(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    takes = "".join(
        f'[[song.version.part.take]]\nnumber = {n}\nbars = "{90 + n}-199"\n' for n in range(1, 31)
    )
    (tmp_path / "log.toml").write_text(
        '[[song]]\ntitle = "Kiln"\n[[song.version]]\nname = "album"\nform = ["verse 1-8"]\n'
        f'[[song.version.part]]\nname = "bass"\n{takes}'
    )
    typed = Typed(str(tmp_path / "log.db"), capsys)
    typed(["load", str(tmp_path / "log.toml")])
    said = typed("check", 1)
    assert "and 22 more: logbook check --rule" in said
    assert said.count("fix: ") == 1
    rule = said.splitlines()[1].strip().partition(":")[0]
    assert typed(["check", "--rule", rule], 1).count("take 30") == 1
