"""`logbook listen tempo` and what else hears music, as a person types it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

pytest.importorskip("scipy")

from logbook.cli.main import run
from tests.cli.typed import Typed
from tests.listening import material as m

RATE = 22_050
SAMPLE = Path(__file__).parents[2] / "sample_session"


@pytest.fixture(scope="module")
def sketch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    notes = m.perform(8, bars=8, tempo=96.0)
    sound = m.pluck(notes, seconds=22.0, rate=RATE)
    return m.save(sound, tmp_path_factory.mktemp("sketch") / "sketch.wav", RATE)


@pytest.fixture(scope="module")
def sample_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with the sample session's audio hung on its takes; to copy."""
    folder = tmp_path_factory.mktemp("heard")
    shutil.copytree(SAMPLE, folder / "sample_session")
    (folder / "sample_session" / "make_audio.py").unlink()
    log = folder / "log.db"
    assert run(["--db", str(log), "load", str(folder / "sample_session")]) == 0
    assert run(["--db", str(log), "import", str(folder / "sample_session")]) == 0
    return log


@pytest.fixture
def sample_typed(sample_log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    for path in sample_log.parent.glob("log.db*"):
        shutil.copy(path, tmp_path / path.name)
    return Typed(str(tmp_path / "log.db"), capsys)


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    return Typed(str(tmp_path / "log.db"), capsys)


def test_tempo_of_a_file(typed: Typed, sketch: Path) -> None:
    said = typed(["listen", "tempo", str(sketch), "--bars"])
    assert "Steady at q=96." in said
    assert 'tempo = "q=96"' in said
    found = typed.json(["listen", "tempo", str(sketch), "--meter", "4/4"])
    assert found["steady"]
    assert found["tempo"] == ["q=96"]
    assert abs(found["bar_one_at_s"] - 0.5) < 0.03
    assert len(found["beats"]) == 32
    assert [bar["bar"] for bar in found["bars"]] == list(range(1, 9))


def test_tempo_refuses(typed: Typed, sketch: Path) -> None:
    assert "there is no file" in typed("listen tempo nowhere.wav", code=2)
    assert "is no tempo" in typed(["listen", "tempo", str(sketch), "--about", "4000"], code=2)


def test_pattern_of_a_part(sample_typed: Typed) -> None:
    said = sample_typed("listen pattern varnish guitar --bars")
    assert "In the log: drive" in said
    found = sample_typed.json("listen pattern varnish guitar")
    assert found["grid"] == "1/8"
    assert found["on_grid"] > 0.95
    (pattern,) = found["patterns"]
    # What the log says, but for which way the hand goes where that is not heard.
    assert pattern["line"].replace(" ", "") == ">D.DU.UDU"
    assert len(pattern["bars"]) == 8


def test_pattern_refuses(sample_typed: Typed) -> None:
    assert "no take 9" in sample_typed("listen pattern varnish guitar --take 9", code=2)
    assert "has no audio file" in sample_typed("listen pattern low voice", code=2)
