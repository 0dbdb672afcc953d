"""Takes, comps, files and credits as somebody tries them who did not write the program."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.sounds import wav

Capture = pytest.CaptureFixture[str]

SESSION = """
people = ["Ada Fenrush", "Tobin Marsk", "Iris Holt"]
[[session]]
name = "day one"
people = ["Tobin Marsk: engineer"]
[[session]]
name = "mix day"
people = ["Iris Holt: mixer"]
[[song]]
title = "Low Water"
shares = ["Ada Fenrush 1"]
[[song.version]]
name = "album"
meter = "4/4"
tempo = "120"
rate = 8000
bar_one_at = "10:00:00"
form = ["verse 1-4"]
[[song.version.part]]
name = "guitar"
player = "Ada Fenrush"
heard = true
takes."day one" = ["1 keeper 1-4", "2 complete 1-4", "3 incomplete 3-4"]
[[song.version.part.comp]]
name = "rough"
final = false
pieces = ["1-4 take 2"]
[[song.version.part.comp]]
name = "done"
pieces = ["1-2 take 1", "3 take 2", "4 take 3"]
"""


@pytest.fixture
def typed(tmp_path: Path, capsys: Capture) -> Typed:
    (tmp_path / "session.toml").write_text(SESSION, encoding="utf-8")
    typed = Typed(str(tmp_path / "log.db"), capsys)
    typed(["load", str(tmp_path / "session.toml")])
    return typed


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_pieces_that_lie_in_their_files_have_frames_though_another_does_not(
    typed: Typed, tmp_path: Path
) -> None:
    # Bars of 2 s: take 1's file holds its four bars, take 2's only two, take 3 has none.
    (tmp_path / "takes").mkdir()
    wav(tmp_path / "takes" / "guitar_1.wav", seconds=8)
    wav(tmp_path / "takes" / "guitar_2.wav", seconds=4)
    typed(["import", str(tmp_path / "takes")])
    found = rows(typed("comp low guitar --as csv"))
    assert [(row["bars"], row["first frame"], row["frames"]) for row in found] == [
        ("1\N{EN DASH}2", "0", "32000"),
        ("3", "", ""),
        ("4", "", ""),
    ]
    said = typed.capsys.readouterr()  # nothing is left over
    assert said.out == said.err == ""
    assert "does not hold" in typed("comp low guitar --as timeline --out x.otio", 2)


def test_a_count_in_by_the_clock_shifts_the_frames(typed: Typed, tmp_path: Path) -> None:
    # Take 1 starts 3 s ahead of bar 1; take 2's clock is that of another hour and not heeded;
    # take 3 begins at bar 3, and so does its clock.
    takes = {"guitar_1": 36_000 - 3, "guitar_2": 40_000, "guitar_3": 36_000 + 4}
    (tmp_path / "takes").mkdir()
    for name, starts_s in takes.items():
        wav(
            tmp_path / "takes" / f"{name}.wav",
            seconds=11,
            time_reference=starts_s * 8000,
        )
    typed(["import", str(tmp_path / "takes")])
    found = rows(typed("comp low guitar --as csv"))
    assert [(row["bars"], row["first frame"], row["frames"]) for row in found] == [
        ("1\N{EN DASH}2", "24000", "32000"),
        ("3", "32000", "16000"),
        ("4", "16000", "16000"),
    ]


def test_which_comp_is_final_is_listed_and_changed_by_a_command(typed: Typed) -> None:
    def final() -> dict[str, str]:
        lines = typed("comp list --song low --part guitar").splitlines()[2:]
        return {line.split()[0]: line.split()[-1] for line in lines}

    assert final() == {"rough": "no", "done": "yes"}
    typed("comp edit rough --final --song low --part guitar")
    assert final() == {"rough": "yes", "done": "no"}
    assert "one untouched pass" in typed("comp low guitar")


def test_a_file_is_taken_down_by_hand_and_hung_again(typed: Typed, tmp_path: Path) -> None:
    wav(tmp_path / "odd.wav", seconds=1)
    typed(["files", "attach", str(tmp_path / "odd.wav"), "low", "guitar", "2"])
    assert "detached: file odd.wav of take 2" in typed("files detach odd.wav")
    assert len(json.loads(typed("files --json"))["unassigned"]) == 1
    assert "it was attached to nothing" in typed("files detach odd.wav")
    typed("undo")
    assert json.loads(typed("files --json"))["unassigned"] == []
    assert "no file" in typed("files detach never.wav", 2)


def test_a_second_import_still_says_what_is_not_assigned(typed: Typed, tmp_path: Path) -> None:
    (tmp_path / "takes").mkdir()
    wav(tmp_path / "takes" / "rec_4.wav", seconds=1)
    (tmp_path / "takes" / "bad.wav").write_bytes(b"")
    typed(["import", str(tmp_path / "takes")], 1)
    assert "2 files: 1 not usable, 1 known and unchanged; 1 not attached." in typed(
        ["import", str(tmp_path / "takes")], 1
    )


def test_a_day_of_mixing_is_named_where_no_mixer_is(typed: Typed) -> None:
    said = " ".join(typed("credits low").split())
    assert "log a mixer on the version, if Iris Holt's work at mix day was for it" in said
    typed(["role", "add", "Iris Holt: mixer", "--song", "low", "--version", "album"])
    assert "No mixer" not in typed("credits low")


def test_an_import_in_several_steps_says_how_many_to_take_back(
    typed: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.importing.folder._BATCH_FILES", 2)
    for number in range(5):
        wav(tmp_path / "takes" / f"guitar_{number + 1}.wav", seconds=1, rate_hz=8000)
    said = typed(["import", str(tmp_path / "takes")])
    assert "Written in 3 steps; logbook undo 3 takes them all back." in said
    typed("undo 3")
    assert json.loads(typed("files --json"))["total"] == 0
    assert "steps" not in typed(["import", str(tmp_path / "takes"), "--dry-run"])
