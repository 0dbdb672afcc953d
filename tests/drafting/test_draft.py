"""The sample session's audio with its session file hidden, drafted and held against the truth."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from logbook.cli.main import run
from logbook.drafting.draft import Draft, draft_folder
from logbook.drafting.songs import SaidBefore
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import Part
from tests.listening import material as m

SAMPLE = Path(__file__).parents[2] / "sample_session"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One song of the sample, its audio alone, with a pass that was broken off put beside it."""
    folder = tmp_path_factory.mktemp("hidden")
    for path in SAMPLE.glob("low-tide-ledger_*"):
        shutil.copy(path, folder / path.name)
    import soundfile as sf

    sound, rate = sf.read(SAMPLE / "low-tide-ledger_guitar_2.flac")
    m.save(sound[: round(3.1 * rate)], folder / "low-tide-ledger_guitar_1.wav", rate)
    m.save(np.zeros((rate, 1)), folder / "low-tide-ledger_voice_1.wav", rate)
    return folder


@pytest.fixture(scope="module")
def drafted(folder: Path) -> Draft:
    return draft_folder(folder, SaidBefore())


def part_of(drafted: Draft, name: str) -> Part:
    (song,) = drafted.log.songs
    return next(part for part in song.versions[0].parts if part.name == name)


def test_song_as_a_whole(drafted: Draft) -> None:
    (song,) = drafted.log.songs
    version = song.versions[0]
    assert song.title == "Low Tide Ledger"
    assert version.key == "A"
    assert [(change.bar, change.bpm) for change in version.tempos] == [(1, 112.0)]
    assert [section.bars for section in version.form] == [12]
    assert [part.name for part in version.parts] == ["bass", "guitar", "voice"]


def test_takes_and_comp(drafted: Draft) -> None:
    guitar = part_of(drafted, "guitar")
    assert [(take.number, take.result, take.bars) for take in guitar.takes] == [
        (1, "false start", "1-2"),
        (2, "complete", "1-12"),
        (3, "incomplete", "1-6"),
        (4, "incomplete", "7-10"),
    ]
    assert [file.path for file in guitar.files] == ["low-tide-ledger_guitar_finished.flac"]
    (comp,) = guitar.comps
    assert [(piece.bars, piece.take, piece.source) for piece in comp.pieces] == [
        ("1-2", 3, "1-2"),
        ("3-6", 2, "3-6"),
        ("7-8", 4, "7-8"),
        ("9-10", 4, "7-8"),
        ("11-12", 2, "11-12"),
    ]
    assert any("voice_1" in sentence for sentence in drafted.left_out)


def test_chart_under_the_capo(drafted: Draft) -> None:
    guitar = part_of(drafted, "guitar")
    assert guitar.capo == "2"
    bars = {entry.bar: entry.voicing for entry in guitar.chart if entry.beat == "1"}
    true = dict(
        zip(range(1, 13), ["A", "D", "A", "E", "F", "D", "D", "A", "D", "A", "D", "A"], strict=True)
    )
    right = sum(bars[bar].startswith(true[bar]) for bar in true)
    assert right >= 11
    bass = part_of(drafted, "bass")
    notes = [entry.voicing.partition("_")[0] for entry in bass.chart if entry.beat == "1"]
    wanted = ["A", "D", "A", "G#", "F#", "D", "D", "A", "D", "F#", "D", "A"]
    assert sum(a == b for a, b in zip(notes, wanted, strict=False)) >= 6


def test_it_reads_back_and_loads(drafted: Draft, folder: Path, tmp_path: Path) -> None:
    assert read_log(drafted.text, folder=str(folder)).songs
    plain = "\n".join(line.partition("  # heard")[0] for line in drafted.text.splitlines())
    assert read_log(plain, folder=str(folder)) == read_log(drafted.text, folder=str(folder))
    for line in drafted.text.splitlines():
        guessed = ("key =", "meter =", "tempo =", "form =", "chart =", "capo =", 'tuning = "st')
        if line.startswith(guessed) and not line.endswith("["):
            assert "# heard" in line or line.startswith("tuning"), line
    session = folder / "draft.toml"
    session.write_text(drafted.text, encoding="utf-8")
    log = tmp_path / "log.db"
    assert run(["--db", str(log), "load", str(session)]) == 0
    assert run(["--db", str(log), "sheet", "Low Tide"]) == 0
    session.unlink()


def test_the_command(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "draft.toml"
    out.write_text("here already")
    assert run(["draft", str(folder), "--out", str(out)]) == 2
    assert "already exists" in capsys.readouterr().err
    assert run(["draft", str(tmp_path / "nowhere")]) == 2
    assert run(["draft", str(folder), "--capo", "nine"]) == 2
    empty = tmp_path / "empty"
    empty.mkdir()
    assert run(["draft", str(empty)]) == 2
    assert "holds no audio" in capsys.readouterr().err


def test_what_cannot_be_drafted(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="no folder"):
        draft_folder(tmp_path / "nowhere", SaidBefore())
