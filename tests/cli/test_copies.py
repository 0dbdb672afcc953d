"""Where files also lie: verified by their sound, and said where there is none."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from logbook.cli.main import run

pytestmark = pytest.mark.usefixtures("sample")
SAMPLE = Path(__file__).parents[2] / "sample_session"


def test_copies_are_found_by_their_sound_and_told_when_they_go(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drive = tmp_path / "blue"

    def said(*words: str, code: int = 0) -> str:
        capsys.readouterr()
        assert run([*words]) == code
        return " ".join(capsys.readouterr().out.split())

    run(["import", str(SAMPLE)])
    assert "All 14 have only one copy, as far as the log knows" in said("files")
    shutil.copytree(SAMPLE, drive)
    for each in drive.glob("rowan*"):
        each.unlink()
    (drive / "varnish_bass_1.ogg").rename(drive / "another name.ogg")
    count = sum(1 for each in drive.iterdir() if each.suffix in {".flac", ".ogg", ".wav", ".mp3"})
    first = said("files", "verify", str(drive), "--on", "blue drive")
    assert f"{count} copies verified in {drive}." in first
    assert f"Only one copy of {14 - count}: rowan-gate" in first
    # The folder they came from holds no copies: it holds the files.
    assert "0 copies verified" in said("files", "verify", str(SAMPLE))
    (drive / "another name.ogg").unlink()
    shutil.copy(drive / "varnish_guitar_1.flac", drive / "low-tide-ledger_guitar_2.flac")
    again = said("files", "verify", str(drive), code=1)
    assert f"No longer there: {drive}/another name.ogg" in again
    assert f"Different sound from the file's: {drive}/low-tide-ledger_guitar_2.flac" in again
    data = json.loads(said("files", "--json"))
    names = {each.rpartition("/")[2] for each in data["one_copy"]}
    assert {"varnish_bass_1.ogg", "low-tide-ledger_guitar_2.flac"} <= names
    assert "varnish_guitar_1.flac" not in names
    assert 'medium = "blue drive"' in said("dump", "varnish")
    assert "took back" in said("undo")
    data = json.loads(said("files", "--json"))
    assert len(data["one_copy"]) == 14 - count


def test_a_folder_that_is_not_there_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["files", "verify", "/nowhere/at all"]) == 2
    assert "/nowhere/at all" in capsys.readouterr().err
