"""`logbook listen tempo` and what else hears music, as a person types it."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("scipy")

from tests.cli.typed import Typed
from tests.listening import material as m

RATE = 22_050


@pytest.fixture(scope="module")
def sketch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    notes = m.perform(8, bars=8, tempo=96.0)
    sound = m.pluck(notes, seconds=22.0, rate=RATE)
    return m.save(sound, tmp_path_factory.mktemp("sketch") / "sketch.wav", RATE)


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
