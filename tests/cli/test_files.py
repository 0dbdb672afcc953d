"""`logbook files`: the log against the disk, and assigning by hand."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from logbook.cli.main import run
from tests.sounds import wav

pytestmark = pytest.mark.usefixtures("sample")
SAMPLE = Path(__file__).parents[2] / "sample_session"
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, capsys: Capture) -> Path:
    """A copy of the sample's folder, imported."""
    made = tmp_path / "boathouse"
    shutil.copytree(SAMPLE, made)
    assert run(["import", str(made)]) == 0
    capsys.readouterr()
    return made


def listed(capsys: Capture, *words: str) -> tuple[int, dict[str, Any]]:
    code = run(["files", *words, "--json"])
    data = json.loads(capsys.readouterr().out)
    assert isinstance(data, dict)
    return code, data


def names(news: list[dict[str, str]]) -> list[str]:
    return [each["file"].rpartition("/")[2] for each in news]


def test_all_is_well(folder: Path, capsys: Capture) -> None:
    assert run(["files"]) == 0
    assert "14 files in the log, all where they should be." in capsys.readouterr().out
    assert folder.is_dir()


def test_missing_moved_and_changed_are_told_apart(folder: Path, capsys: Capture) -> None:
    (folder / "varnish_bass_1.ogg").unlink()
    (folder / "sub").mkdir()
    (folder / "rowan-gate_guitar_1.mp3").rename(folder / "sub" / "another name.mp3")
    shutil.copy(folder / "varnish_guitar_1.flac", folder / "low-tide-ledger_guitar_2.flac")
    code, data = listed(capsys)
    assert code == 1
    assert names(data["missing"]) == ["varnish_bass_1.ogg"]
    assert names(data["moved"]) == ["rowan-gate_guitar_1.mp3"]
    assert data["moved"][0]["now"].endswith("sub/another name.mp3")
    assert data["moved"][0]["hangs_on"] == "Rowan Gate, EP, guitar, take 1"
    assert names(data["changed"]) == ["low-tide-ledger_guitar_2.flac"]
    assert data["total"] == 14
    assert run(["files"]) == 1
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_a_touched_file_is_no_news(folder: Path, capsys: Capture) -> None:
    for path in folder.iterdir():
        path.touch()
    code, data = listed(capsys)
    assert code == 0
    assert (data["missing"], data["moved"], data["changed"]) == ([], [], [])


def test_relink_finds_files_by_their_sound(folder: Path, capsys: Capture, tmp_path: Path) -> None:
    away = tmp_path / "drive" / "old"
    away.mkdir(parents=True)
    (folder / "varnish_bass_1.ogg").rename(away / "a.ogg")
    (folder / "rowan-gate_guitar_1.mp3").rename(away / "b.mp3")
    (folder / "rowan-gate_guitar_2.mp3").unlink()
    wav(away / "not one of them.wav")
    code, data = listed(capsys, "--relink", str(tmp_path / "drive"))
    assert code == 1
    assert names(data["relinked"]) == ["rowan-gate_guitar_1.mp3", "varnish_bass_1.ogg"]
    assert names(data["missing"]) == ["rowan-gate_guitar_2.mp3"]
    code, data = listed(capsys)
    assert names(data["missing"]) == ["rowan-gate_guitar_2.mp3"]
    assert run(["undo"]) == 0
    capsys.readouterr()
    assert len(listed(capsys)[1]["missing"]) == 3


def test_relink_in_the_same_folder_takes_renamed_files_in(folder: Path, capsys: Capture) -> None:
    (folder / "varnish_bass_1.ogg").rename(folder / "b.ogg")
    code, data = listed(capsys, "--relink", str(folder))
    assert code == 0
    assert names(data["relinked"]) == ["varnish_bass_1.ogg"]
    assert listed(capsys)[0] == 0


def test_a_file_that_is_only_named_is_not_read_yet(capsys: Capture) -> None:
    code, data = listed(capsys)
    assert code == 0
    assert names(data["not_read"]) == ["low-tide-ledger_guitar_finished.flac"]


def test_assigning_by_hand(folder: Path, capsys: Capture) -> None:
    for name in ("one.wav", "two.wav", "three.wav"):
        wav(folder / name, rate_hz=22050)
    run(["import", str(folder)])
    capsys.readouterr()
    assert names(listed(capsys)[1]["unassigned"]) == ["one.wav", "three.wav", "two.wav"]
    assert run(["files", "attach", "one.wav", "varn", "bass", "1", "--microphone", "room"]) == 0
    assert "take 1, bass, EP, Varnish" in capsys.readouterr().out
    assert run(["files", "attach", "two", "varn", "bass"]) == 0
    assert run(["files", "attach", str(folder / "three.wav"), "varn"]) == 0
    capsys.readouterr()
    assert listed(capsys)[1]["unassigned"] == []
    assert run(["files", "attach", "three.wav", "varn"]) == 0
    assert "left as it was" in capsys.readouterr().out


def test_assigning_a_file_that_the_log_does_not_know_yet(capsys: Capture, tmp_path: Path) -> None:
    path = wav(tmp_path / "rough mix.wav", rate_hz=22050)
    assert run(["files", "attach", str(path), "varn"]) == 0
    capsys.readouterr()
    assert listed(capsys)[1]["unassigned"] == []


def test_many_are_hung_at_once(folder: Path, capsys: Capture) -> None:
    for mic in ("KickIn", "KickOut", "OHL"):
        wav(folder / "drums" / f"x_07_{mic}.wav", rate_hz=22050)
    shutil.copy(folder / "drums" / "x_07_OHL.wav", folder / "drums" / "x_07_A copy.wav")
    wav(folder / "a photograph" / "x_07_KickIn.wav", rate_hz=22050)
    run(["import", str(folder)])
    capsys.readouterr()
    notes = {each["file"]: each["note"] for each in listed(capsys)[1]["unassigned"]}
    assert notes[f"{folder.as_posix()}/drums/x_07_A copy.wav"] == "a copy of drums/x_07_OHL.wav"
    assert run(["files", "list"]) == 0
    said = capsys.readouterr().out
    assert "a photograph/x_07_KickIn.wav" in said
    assert "drums/x_07_KickIn.wav" in said
    hang = ["file", "hang", "drums/*_07_*", "--song", "varn", "--part", "bass", "--take", "7"]
    assert run([*hang, "--session", "day one"]) == 0
    said = capsys.readouterr().out
    assert "3 files attached to take 7, bass, EP, Varnish" in said.replace("take 7 of", "take 7,")
    assert "Kick Out" in said
    assert "left as it was: drums/x_07_A copy.wav: a copy of drums/x_07_OHL.wav" in said
    assert run(["files", "attach", "x_07_A copy.wav", "varn", "bass", "7"]) == 2
    assert "one sound is attached once" in capsys.readouterr().err
    assert run(["undo"]) == 0
    capsys.readouterr()
    assert len(listed(capsys)[1]["unassigned"]) == 5
    assert run(["files", "attach-all", "nothing/*", "--song", "varn"]) == 2
    assert "no file of the log fits" in capsys.readouterr().err


def test_a_folder_that_is_gone_is_one_sentence(folder: Path, capsys: Capture) -> None:
    count = listed(capsys)[1]["total"]
    for each in sorted(folder.rglob("*"), reverse=True):
        each.unlink()
    folder.rmdir()
    assert run(["files"]) == 1
    missing = capsys.readouterr().out.split("Missing:")[1].split("\n\n")[0]
    assert " is gone, and with it all " in " ".join(missing.split())
    assert ".flac" not in missing
    assert len(listed(capsys)[1]["missing"]) <= count


def test_a_photograph_is_no_audio(folder: Path, capsys: Capture) -> None:
    assert run(["file", "add", "pictures/desk.JPG"]) == 2
    assert "a picture and not audio" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nothing.wav", "varn"], "no file is called"),
        (["varnish_bass_1.ogg", "nix"], "no song is called"),
        (["varnish_bass_1.ogg", "varn", "oud"], "no part is called"),
        (["varnish_bass_1.ogg", "varn", "bass", "9"], "no take 9"),
        (["varnish_bass_1.ogg", "varn", "bass", "two"], "not a take's number"),
        (["varnish_bass_1.ogg", "varn", "--version", "live"], "no version is called"),
        (["varnish", "varn"], "may be"),
        ([], "FILE"),
    ],
    ids=range(8),
)
def test_what_cannot_be_assigned_is_one_sentence(
    words: list[str], says: str, folder: Path, capsys: Capture
) -> None:
    assert folder.is_dir()
    assert run(["files", "attach", *words]) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert len(caught.err.strip().splitlines()) == 1


def test_a_folder_to_search_that_is_not_there(folder: Path, capsys: Capture) -> None:
    (folder / "varnish_bass_1.ogg").unlink()
    assert run(["files", "--relink", str(folder / "none")]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


@pytest.mark.parametrize("names", [("attach", "detach"), ("assign", "unassign")])
def test_the_earlier_names_of_the_commands_do_the_same(
    names: tuple[str, str], folder: Path, capsys: Capture
) -> None:
    put, take_off = names
    wav(folder / "REC0009.wav", seconds=0.3)
    assert run(["import", str(folder)]) == 0
    assert run(["files", put, "REC0009.wav", "varn", "guitar", "1"]) == 0
    assert run(["files", take_off, "REC0009.wav"]) == 0
    assert "detached: " in capsys.readouterr().out
