"""`logbook listen chart` for a part of single notes without strings, as a person types it."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("scipy")

import soundfile as sf

from tests.cli.typed import Typed
from tests.listening import sung

BEAT = 60 / 96
# Beats from the beginning, beats long, MIDI number.
LINE = (
    *((0, 1, 60), (1, 1, 62), (2, 2, 64), (4, 0.5, 65), (4.5, 0.5, 64), (5, 1, 62), (6, 4, 60)),
    *((12, 1, 67), (13, 1, 67), (14, 2, 63)),
)
CHART = "verse: C4 D4 E4 . | F4 3/2:E4 2:D4 3:C4 | C4 - | G4 G4 Eb4 ."
SESSION = """
[[song]]
title = "Heron Light"

[[song.version]]
name = "album"
key = "C"
tempo = 96
form = "verse 1-4"

[[song.version.part]]
name = "voice"

[[song.version.part.take]]
number = 1
result = "keeper"
bars = "1-4"
files = ["voice 1.wav"]
"""


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    notes = [
        sung.SungNote(start=at * BEAT, end=(at + beats) * BEAT, midi=midi)
        for at, beats, midi in LINE
    ]
    sf.write(tmp_path / "voice 1.wav", sung.sing(notes, seed=3, cents=12.0), 22_050)
    (tmp_path / "session.toml").write_text(SESSION, encoding="utf-8")
    typed = Typed(str(tmp_path / "log.db"), capsys)
    typed(["load", str(tmp_path / "session.toml")])
    return typed


def test_voice_is_told_and_charted_as_notes(typed: Typed) -> None:
    found = typed.json("listen chart heron voice")
    assert not found["applied"]
    assert [(one["bar"], one["beat"], one["note"]) for one in found["notes"]] == [
        *((1, "1", "C4"), (1, "2", "D4"), (1, "3", "E4")),
        *((2, "1", "F4"), (2, "3/2", "E4"), (2, "2", "D4"), (2, "3", "C4")),
        *((4, "1", "G4"), (4, "2", "G4"), (4, "3", "Eb4")),
    ]
    assert all(one["sure"] > 0.7 for one in found["notes"])
    assert found["chart"] == [CHART]
    said = typed("listen chart heron voice --yes")
    assert "bar 1: C4 D4 E4   sure" in said
    assert "frets" not in said
    # It is read again as it was written, no check speaks against it, and undo takes it back.
    assert CHART in typed("dump heron")
    assert typed.json("listen chart heron voice")["differences"] == []
    assert "no tuning" not in typed("check heron")
    typed("undo")
    assert "chart = " not in typed("dump heron")


def test_a_wrong_note_in_the_log_is_shown(typed: Typed) -> None:
    typed("listen chart heron voice --yes")
    text = typed("dump heron").replace("3:C4 |", "3:G4 |")
    changed = Path(typed.db).parent / "changed.toml"
    changed.write_text(text, encoding="utf-8")
    typed(["load", str(changed)])
    (one,) = typed.json("listen chart heron voice")["differences"]
    assert (one["bar"], one["beat"], one["logged"], one["heard"]) == (2, "3", "G4", "C4")
