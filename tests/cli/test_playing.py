"""`book --audio` and `sheet --audio`: sizes first, files found again, losses told."""

from __future__ import annotations

import wave
from pathlib import Path

import pytest

from logbook.cli.main import run

Capture = pytest.CaptureFixture[str]

SESSION = """
[[instrument]]
name = "lap guitar"
kind = "guitar"
tuning = "standard"

[[song]]
title = "Short Pier"

[[song.version]]
name = "demo"
meter = "4/4"
tempo = "q=180"
form = ["verse 1-2"]

[[song.version.part]]
name = "guitar"
instrument = "lap guitar"
files = ["pier.wav", "gone.wav"]
chart = ["verse: C | G"]

[song.version.part.voicings]
C = "x 3 2 0 1 0"
G = "3 2 0 0 0 3"
"""


@pytest.fixture
def pier(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> Path:
    """A folder with a log of one short song, whose finished file is lost."""
    pytest.importorskip("av", reason="av is not installed")
    monkeypatch.setenv("LOGBOOK_DB", str(tmp_path / "log.db"))
    with wave.open(str(tmp_path / "pier.wav"), "wb") as file:
        file.setparams((1, 2, 48_000, 0, "NONE", ""))
        file.writeframes(bytes(2 * 48_000 * 4))
    (tmp_path / "day.toml").write_text(SESSION, encoding="utf-8")
    assert run(["load", str(tmp_path / "day.toml")]) == 0
    capsys.readouterr()
    return tmp_path


def test_a_book_says_how_large_it_gets_and_finds_its_recordings_again(
    pier: Path, capsys: Capture
) -> None:
    folder = pier / "book"
    assert run(["book", str(folder), "--audio"]) == 0
    said = capsys.readouterr()
    assert "1 recording, 0:04 in all, about 0.0 MB\n" in said.out
    assert said.out.index("1 recording") < said.out.index("pages written")
    assert "gone.wav is not where the log says" in said.err
    sounds = {each: each.stat().st_mtime_ns for each in (folder / "sounds").iterdir()}
    assert len(sounds) == 1
    assert 'id="play-data"' in (folder / "songs" / "short-pier.html").read_text(encoding="utf-8")
    assert run(["book", str(folder), "--audio"]) == 0
    assert "1 of them there already" in capsys.readouterr().out
    assert {each: each.stat().st_mtime_ns for each in (folder / "sounds").iterdir()} == sounds


def test_a_sheet_has_its_recordings_in_a_folder_of_its_own(pier: Path, capsys: Capture) -> None:
    out = pier / "short pier.html"
    assert run(["sheet", "short", "--audio", "--out", str(out)]) == 0
    page = out.read_text(encoding="utf-8")
    (sound,) = (pier / "short pier-sounds").iterdir()
    assert f"short%20pier-sounds/{sound.name}" in page
    (pier / "pier.wav").unlink()
    for kind in (["sheet", "short", "--for", "live"], ["takes", "short"], ["comp", "short"]):
        capsys.readouterr()
        other = pier / f"{kind[0]}.html"
        assert run([*kind, "--audio", "--out", str(other)]) == (2 if kind[0] == "comp" else 0)
        if other.exists():
            assert "no recordings to put beside the page" in capsys.readouterr().out
            assert '"label":"as logged"' in other.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--out", "x.pdf"], "recordings go beside a page, not with pdf"),
        (["--as", "html"], "recordings lie beside a page in a file"),
        (["--for", "credits", "--out", "x.html"], "a credits sheet does not play"),
    ],
)
def test_recordings_without_a_page_to_play_them_are_refused(
    asked: list[str], said: str, pier: Path, capsys: Capture
) -> None:
    assert run(["sheet", "short", "--audio", *asked]) == 2
    assert said in capsys.readouterr().err
