"""Tuning read from plucked strings of known pitch."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.listening.tuning import read_tuning
from tests.listening import material as m


@pytest.mark.parametrize("cents", [-42.0, -13.0, 0.0, 8.0, 31.0])
def test_within_two_cents(cents: float) -> None:
    notes = m.perform(2, bars=6, style="pick")
    sound = m.pluck(notes, seconds=13.0, a4=440.0 * 2 ** (cents / 1200))
    read = read_tuning(np.mean(sound, axis=1).astype(np.float32), 22_050)
    assert read is not None
    assert read.cents == pytest.approx(cents, abs=2.0)
    assert read.a4_hz == pytest.approx(440.0 * 2 ** (read.cents / 1200))
    assert read.clear > 0.6


def test_from_another_reference() -> None:
    notes = m.perform(2, bars=6, style="pick")
    sound = np.mean(m.pluck(notes, seconds=13.0, a4=442.0), axis=1).astype(np.float32)
    read = read_tuning(sound, 22_050, 442.0)
    assert read is not None
    assert read.cents == pytest.approx(0.0, abs=2.0)


def test_a_quarter_tone_is_one_end_of_the_circle() -> None:
    notes = m.perform(2, bars=6, style="pick")
    sound = np.mean(m.pluck(notes, seconds=13.0, a4=440.0 * 2 ** (49 / 1200)), axis=1)
    read = read_tuning(sound.astype(np.float32), 22_050)
    assert read is not None
    assert abs(abs(read.cents) - 49) < 3


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_noise_and_drums_have_no_tuning(seed: int) -> None:
    rng = np.random.default_rng(seed)
    noise = rng.normal(size=12 * 22_050).astype(np.float32)
    assert read_tuning(0.1 * noise, 22_050) is None
    t = np.arange(5_512) / 22_050
    hits = []
    for step in range(48):
        kick = np.sin(2 * np.pi * (50 * t + 8 * (1 - np.exp(-40 * t)))) * np.exp(-14 * t)
        snare = rng.normal(size=t.size) * np.exp(-22 * t)
        hits.append(kick if step % 4 in (0, 3) else snare)
    assert read_tuning(0.3 * np.concatenate(hits).astype(np.float32), 22_050) is None


def test_a_voice_with_vibrato_has_one() -> None:
    from tests.listening.sung import melody, sing

    read = read_tuning(sing(melody(5), seed=5, cents=9.0), 22_050)
    assert read is not None
    assert read.cents == pytest.approx(9.0, abs=6.0)


def test_nothing_pitched() -> None:
    assert read_tuning(np.zeros(100_000, dtype=np.float32), 22_050) is None
    assert read_tuning(np.zeros(100, dtype=np.float32), 22_050) is None
