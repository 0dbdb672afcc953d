"""The same sound in other bytes is told from another take and from a steady tone."""

from __future__ import annotations

import math
import random
import wave
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("soundfile")

from logbook.importing.file_index import FileEntry
from logbook.importing.near_copies import NearCopies

RATE = 8000


def played(seed: int, seconds: float = 3.0) -> list[float]:
    """Plucked notes at times and pitches of their own, with a little noise."""
    chance = random.Random(seed)
    out = [chance.gauss(0, 0.002) for _ in range(int(seconds * RATE))]
    for _ in range(9):
        start, pitch = chance.randrange(len(out) - 800), chance.uniform(90, 700)
        for at in range(start, min(start + 4000, len(out))):
            age = (at - start) / RATE
            pick = 0.4 * chance.gauss(0, 1) * math.exp(-30 * age)
            out[at] += 0.2 * math.exp(-5 * age) * (math.sin(2 * math.pi * pitch * age) + pick)
    return out


def entry(path: Path, sound: Sequence[float], rate: int = RATE) -> FileEntry:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        whole = (max(-32767, min(32767, round(32767 * each))) for each in sound)
        file.writeframes(b"".join(each.to_bytes(2, "little", signed=True) for each in whole))
    return FileEntry(folder=str(path.parent), path=path.name, frames=len(sound), rate_hz=rate)


def test_a_louder_and_shorter_copy_is_found_and_nothing_else(tmp_path: Path) -> None:
    first = played(1)
    original = entry(tmp_path / "a.wav", first)
    cut = entry(tmp_path / "b.wav", [0.5 * each for each in first[4321:]])
    found = NearCopies().find(cut, [original])
    assert found is not None
    assert found.path == "a.wav"
    assert found.gain_db == pytest.approx(-6.02, abs=0.1)
    assert found.later_s == pytest.approx(4321 / RATE, abs=0.001)
    assert str(found) == "6.0 dB softer and begins later by 0.54 s"
    other = entry(tmp_path / "c.wav", played(2))
    # Another microphone: the same notes through another room.
    room = [
        0.6 * each + 0.5 * first[at - 37] - 0.3 * first[at - 113] for at, each in enumerate(first)
    ]
    far = entry(tmp_path / "d.wav", room)
    assert NearCopies().find(other, [original]) is None
    assert NearCopies().find(far, [original]) is None


def test_a_steady_tone_is_no_copy_of_a_louder_one(tmp_path: Path) -> None:
    hum = [math.sin(2 * math.pi * 50 * at / RATE) for at in range(2 * RATE)]
    one = entry(tmp_path / "a.wav", [0.2 * each for each in hum])
    two = entry(tmp_path / "b.wav", [0.4 * each for each in hum[100:]])
    assert NearCopies().find(two, [one]) is None


def test_a_copy_at_another_rate_is_found_however_it_was_cut(tmp_path: Path) -> None:
    """Both are drawn from one curve, so no resampler of ours is asked about its own work."""

    def sung(rate: int, seed: int, late_s: float = 0.0) -> list[float]:
        chance = random.Random(seed)
        out = np.zeros(2 * rate)
        for _ in range(9):
            start, pitch = chance.uniform(0, 1.6), chance.uniform(90, 400)
            age = np.maximum(np.arange(2 * rate) / rate + late_s - start, 0)
            fade = 0.05 * np.exp(-3 * age) * -np.expm1(-400 * age)
            for n in range(1, 8):
                out += fade * chance.random() * np.sin(2 * np.pi * n * pitch * age)
        return out.tolist()  # type: ignore[no-any-return]

    original = entry(tmp_path / "a.wav", sung(9600, 1), 9600)
    copy = entry(tmp_path / "b.wav", [0.8 * x for x in sung(8820, 1, 0.20005)], 8820)
    found = NearCopies().find(copy, [original])
    assert found is not None
    assert found.later_s == pytest.approx(0.2, abs=0.002)
    assert str(found).startswith("at 8.82 kHz for 9.6 and 1.9 dB softer and begins")
    assert NearCopies().find(entry(tmp_path / "c.wav", sung(8820, 2), 8820), [original]) is None
