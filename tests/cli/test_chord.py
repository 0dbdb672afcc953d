from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from logbook.cli.main import run


def test_one_voicing(capsys: pytest.CaptureFixture[str]) -> None:
    code = run(["chord", "x 0 2 2 1 0", "--capo", "2", "--from", "capo", "--name", "Am"])
    out = capsys.readouterr().out
    assert code == 0
    assert "shape name: Am is the shape name" in out
    assert "x 0 4 4 3 0 from the nut, x 0 2 2 1 0 from the capo" in out
    assert "capo" in out.splitlines()[2]


def test_as_data(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "x32010", "--json", "--ways", "3", "--key", "C"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["concert_name"] == "C"
    assert data["notes"] == ["C3", "E3", "G3", "C4", "E4"]
    assert len(data["other_ways"]) == 3
    assert all("teacher" in way["caution"] for way in data["other_ways"])


def test_other_ways_in_lines(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "x02210", "--fingers=--231-", "--ways", "2", "--stretch", "60"]) == 0
    out = capsys.readouterr().out
    assert "Other ways, the closest first\nfrets from the nut" in out
    assert out.count("ask a teacher") == 1
    assert run(["chord", "x02210", "--same-notes", "--stretch", "0", "--most-fingers", "1"]) == 0
    assert "none within this reach" in capsys.readouterr().out


def test_a_chord_that_is_only_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "--name", "Dadd9", "--tuning", "DADGAD", "--ways", "3"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Dadd9, the easiest first"
    assert run(["chord", "--name", "Dadd9", "--every", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["ways"]) > 100
    narrow = ["--stretch", "0", "--most-fingers", "1", "--tuning", "bass"]
    assert run(["chord", "--name", "C#13", *narrow]) == 2
    assert "allow more with --stretch" in capsys.readouterr().err


def test_other_tunings_bass_and_pitch(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "0003", "--tuning", "ukulele"]) == 0
    assert capsys.readouterr().out.startswith("C\n")
    assert run(["chord", "x x 3 4 x x", "--bass", "G"]) == 0
    assert capsys.readouterr().out.startswith("G7\n")
    assert run(["chord", "x02210", "--a4", "432", "--cents=-10"]) == 0
    assert "A4 = 432 Hz, -10 cents" in capsys.readouterr().out


def test_a_batch_answers_every_line_it_can(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = tmp_path / "frets.txt"
    lines.write_text("# verse\nx 0 2 2 1 0 : Am\n\nx32010\n1x\n022100 : Em\n")
    assert run(["chord", "--batch", str(lines)]) == 2
    said = capsys.readouterr()
    assert [line.split("  ")[1] for line in said.out.splitlines()] == ["Am", "C", "E"]
    assert "Am is exactly what sounds" in said.out
    assert said.err.startswith("line 5: '1x' has 2 entries")


def test_a_batch_from_the_standard_input_as_data(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", iter(["x02210\n", "x32010\n"]))
    assert run(["chord", "--batch", "-", "--json", "--moves"]) == 0
    first, second, moves = map(json.loads, capsys.readouterr().out.splitlines())
    assert (first["line"], second["concert_name"]) == (1, "C")
    assert moves["changes"][0]["stays"] == [1, 2, 4]
    assert [note["note"] for note in moves["lines"]["top"]] == ["E4", "E4"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["chord"], "no frets were given"),
        (["chord", "x02210", "--batch", "-"], "give one of them"),
        (["chord", "x0221"], "has 5 entries for 6 strings"),
        (["chord", "x02210", "--capo", "2"], "say that the frets are counted from the capo"),
        (["chord", "x02210", "--from", "bridge"], "say nut or capo"),
        (["chord", "x02210", "--name", "Hm"], "H"),
        (["chord", "x02210", "--key", "G# major"], "Ab major"),
        (["chord", "x02210", "--tuning", "dadgat"], "did you mean DADGAD"),
        (["chord", "x02210", "--most-fingers", "9"], "9"),
        (["chord", "--batch", "/nowhere/at/all"], "/nowhere/at/all"),
        (["chord", "--batch", "-", "--ways", "3"], "--ways is for one voicing"),
        (["chord", "--batch", "-", "--name", "Am"], "x 0 2 2 1 0 : Am"),
        (["chord", "x02210", "--moves"], "give a file, or - for lines"),
        (["chord", "x02210", "--before", "Q7"], "'Q7' cannot be read as a chord"),
    ],
)
def test_mistakes_end_in_one_sentence(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert says in said.err
    assert len(said.err.splitlines()) == 1


def test_a_terminal_without_lines_gets_plain_characters() -> None:
    command = [sys.executable, "-c", "from logbook.cli.main import main; main()"]
    done = subprocess.run(
        [*command, "chord", "x 0 4 4 3 0", "--capo", "2"],
        capture_output=True,
        check=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert b"   2 ########### capo" in done.stdout


def test_neither_the_database_nor_rich_is_loaded() -> None:
    script = (
        "import sys\n"
        "from logbook.cli.main import run\n"
        "run(['chord', 'x02210'])\n"
        "heavy = {'rich', 'sqlalchemy', 'alembic', 'numpy', 'jinja2', 'mutagen', 'pydantic'}\n"
        "print('loaded', sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("loaded []\n")


def test_the_keys_of_the_data_stay(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "x02210", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert list(data) == [
        "frets", "tuning", "capo", "key", "shape_key", "bass", "chord", "concert_name",
        "shape_name", "also", "concert_names", "shape_names", "written_name", "notes", "midi",
        "strings", "guide_tones", "ring", "not_played", "hand", "diagram",
    ]  # fmt: skip
    assert list(data["concert_names"][0]) == [
        "symbol", "root", "intervals", "bass", "omits", "adds", "named", "why"
    ]  # fmt: skip
    assert list(data["hand"]) == [
        "fingers", "proposed", "barres", "is_barre", "scale_mm", "stretch_mm", "caution"
    ]  # fmt: skip


def test_moves_rank_each_name_by_the_chord_before_and_fold(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    lines = tmp_path / "frets.txt"
    lines.write_text("x 3 5 3 4 3\nx 3 3 0 1 3\n1 x 3 3 3 x\n")
    assert run(["chord", "--batch", str(lines), "--moves"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "to Csus4:    " in out


def test_before_leads_to_a_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["chord", "x02010", "--before", "E7"]) == 0
    assert "E7 before it leads" in " ".join(capsys.readouterr().out.split())
