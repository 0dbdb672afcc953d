"""`logbook import` on the sample session and on folders that nobody would want to bring home."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from logbook.cli.main import run
from tests.sounds import wav

pytestmark = pytest.mark.usefixtures("sample")
SAMPLE = Path(__file__).parents[2] / "sample_session"
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of one's own."""
    made = tmp_path / "takes"
    made.mkdir()
    return made


def imported(capsys: Capture, *words: str) -> tuple[int, str]:
    code = run(["import", *words])
    caught = capsys.readouterr()
    assert "Traceback" not in caught.err
    return code, caught.out


def as_data(capsys: Capture, *words: str) -> tuple[int, dict[str, object]]:
    code, out = imported(capsys, *words, "--json")
    data = json.loads(out)
    assert isinstance(data, dict)
    return code, data


def test_the_sample_s_files_all_hang(capsys: Capture) -> None:
    code, data = as_data(capsys, str(SAMPLE))
    assert code == 0
    files = data["files"]
    assert isinstance(files, list)
    assert len(files) == 14
    assert all(each["assigned"] for each in files)
    assert sum("take" in each for each in files) == 13
    (finished,) = [each for each in files if "take" not in each]
    assert (finished["what"], finished["part"]) == ("mentioned", "guitar")
    assert all(not each.get("remarks") for each in files)
    clocked = {each["file"]: each["bars"] for each in files if each.get("bars")}
    assert clocked == {
        "lantern-on-the-slip_guitar_1.wav": "starts at bar 0",
        "lantern-on-the-slip_guitar_2.wav": "starts at bar 0",
    }


def test_the_table_fits_80_columns_and_a_second_time_nothing_is_new(capsys: Capture) -> None:
    code, out = imported(capsys, str(SAMPLE))
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    assert "Low Tide Ledger, EP, guitar, take 2 (day one)" in out
    assert "14 files: 13 new, 1 named in the log already; 14 attached, 0 not attached." in out
    assert "2 files passed over" in out
    code, out = imported(capsys, str(SAMPLE))
    assert code == 0
    assert out.startswith("Nothing is new: 14 files known and unchanged.")


def test_after_it_comps_are_clips_and_check_finds_the_one_slip(
    capsys: Capture, tmp_path: Path
) -> None:
    imported(capsys, str(SAMPLE))
    pytest.importorskip("opentimelineio")
    out = tmp_path / "comp.otio"
    assert run(["comp", "low", "guitar", "--as", "timeline", "--out", str(out)]) == 0
    assert "low-tide-ledger_guitar_4.flac" in out.read_text(encoding="utf-8")
    capsys.readouterr()
    assert run(["check"]) == 1
    assert "4 songs: 1 contradiction." in capsys.readouterr().out


def test_a_dry_run_changes_nothing(capsys: Capture) -> None:
    assert imported(capsys, str(SAMPLE), "--dry-run")[0] == 0
    _, data = as_data(capsys, str(SAMPLE))
    assert data["unchanged"] == 0


def test_bad_files_are_told_and_the_exit_code_is_1(capsys: Capture, folder: Path) -> None:
    wav(folder / "low-tide-ledger_bass_1.wav", rate_hz=22050)
    (folder / "empty.wav").touch()
    (folder / "torn.flac").write_bytes(b"fLaC\0\0")
    (folder / "notes.txt").write_text("nothing to hear")
    code, out = imported(capsys, str(folder))
    assert code == 1
    assert "empty.wav" in out
    assert "an empty file" in out
    assert "torn.flac" in out
    assert "1 file passed over" in out
    assert "Low Tide Ledger, EP, bass, take 1" in out


def test_what_is_not_audio_and_not_called_so_is_no_fault(capsys: Capture, folder: Path) -> None:
    (folder / "notes.txt").write_text("nothing to hear")
    code, out = imported(capsys, str(folder))
    assert code == 0
    assert "no audio" in out


def test_what_cannot_be_told_is_listed_with_the_patterns_tried(
    capsys: Capture, folder: Path
) -> None:
    wav(folder / "guitar_1.wav")
    wav(folder / "oud_1.wav")
    code, out = imported(capsys, str(folder))
    assert code == 0
    assert "have this part; say which with --song" in " ".join(out.split())
    assert "no part 'oud' in the log" in out
    assert "Patterns tried" in out
    assert "{part}_{take}" in out
    assert "logbook files attach" in out


def test_a_pattern_and_a_song_of_the_command(capsys: Capture, folder: Path) -> None:
    wav(folder / "T1=guitar.wav", rate_hz=22050)
    words = [str(folder), "--pattern", "T{take}={part}", "--song", "varn", "--session", "day two"]
    code, out = imported(capsys, *words)
    assert code == 0
    assert "Varnish, EP, guitar, take 1 (day two)" in out


def test_where_here_is_counts_last_and_is_said(capsys: Capture, folder: Path) -> None:
    wav(folder / "guitar_7.wav", rate_hz=22050)
    assert run(["here", "Varnish", "--session", "day two"]) == 0
    capsys.readouterr()
    code, out = imported(capsys, str(folder))
    assert code == 0
    told = " ".join(out.split())
    assert "Varnish, EP, guitar, take 7 (day two)" in told
    assert "a take that was not logged, added unrated" in told
    assert "here" in told


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["{folder}/none"], "is not there"),
        (["{folder}/file"], "is not a folder"),
        (["{folder}", "--pattern", "{take"], "brace"),
        (["{folder}", "--pattern", "{takes}"], "unknown field"),
        (["{folder}", "--song", "nothing like it"], "no song is called"),
        (["{folder}", "--session", "day nine"], "no session is called"),
        ([], "FOLDER"),
    ],
    ids=range(7),
)
def test_what_cannot_be_done_is_one_sentence(
    words: list[str], says: str, folder: Path, capsys: Capture
) -> None:
    (folder / "file").touch()
    given = [each.replace("{folder}", str(folder)) for each in words]
    assert run(["import", *given]) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert len(caught.err.strip().splitlines()) == 1


def test_names_that_a_terminal_would_obey_are_shown(capsys: Capture, folder: Path) -> None:
    wav(folder / "\x1b[31mred_1.wav")
    code, out = imported(capsys, str(folder))
    assert code == 0
    assert "\x1b" not in out
    code, out = imported(capsys, str(folder), "--json")
    assert "\x1b" not in out


def test_a_folder_moved_as_a_whole(capsys: Capture, tmp_path: Path) -> None:
    shutil.copytree(SAMPLE, tmp_path / "one")
    imported(capsys, str(tmp_path / "one"))
    (tmp_path / "one").rename(tmp_path / "two")
    code, data = as_data(capsys, str(tmp_path / "two"))
    assert code == 0
    files = data["files"]
    assert isinstance(files, list)
    assert {each["what"] for each in files} == {"moved"}
    assert run(["files"]) == 0
