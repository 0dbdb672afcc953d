"""Tempo read from onsets, folded and named, and followed through the bars of a map."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from logbook.listening.onsets import RATE, onset_curve, onsets
from logbook.listening.tempo import drift_percent, follow_bars, name_reading, read_tempo
from tests.listening import material as m


def clicks(times: np.ndarray, seconds: float) -> np.ndarray:
    """An onset curve with a narrow bump at each time."""
    t = np.arange(round(seconds * RATE)) / RATE
    curve = np.zeros(t.size)
    for time in times:
        curve += np.exp(-0.5 * ((t - time) / 0.006) ** 2)
    return curve


@pytest.mark.parametrize("bpm", [60.0, 87.3, 120.0, 171.7])
def test_steady_clicks(bpm: float) -> None:
    rng = np.random.default_rng(1)
    times = 0.5 + np.arange(2 * round(bpm)) * 30.0 / bpm
    times = times + rng.normal(scale=0.006, size=times.size)
    read = read_tempo(clicks(times, 61.0), times, np.ones(times.size), bpm)
    assert read is not None
    assert read.bpm == pytest.approx(bpm, rel=0.001)
    assert read.reading in ("beat", "double", "half")
    assert 1.0 < read.spread_ms < 10.0


def test_half_and_double_are_named() -> None:
    times = 0.5 + np.arange(120) * 0.5
    curve, strengths = clicks(times, 61.0), np.ones(120)
    for expected, name in ((120.0, "beat"), (60.0, "double"), (240.0, "half")):
        read = read_tempo(curve, times, strengths, expected)
        assert read is not None
        assert (read.reading, round(read.heard_bpm)) == (name, 120)
        assert read.bpm == pytest.approx(expected, rel=0.001)
    assert name_reading(120.0, 80.0) == "other"


def test_too_little_to_tell() -> None:
    times = np.array([0.5, 1.0, 1.5])
    assert read_tempo(clicks(times, 5.0), times, np.ones(3)) is None


def test_bars_are_followed_through_a_drift() -> None:
    # Sixteen bars, the first 2 s long, each half a percent slower than the one before it.
    starts = np.concatenate([[0.0], np.cumsum(2.0 * 1.005 ** np.arange(16))])
    times = np.concatenate(
        [0.3 + a + (b - a) * np.arange(8) / 8 for a, b in itertools.pairwise(starts)]
    )
    bars = list(range(1, 17))
    read = follow_bars(
        times, np.ones(times.size), bars, np.arange(17) * 2.0, [8] * 16, [120.0] * 16
    )
    assert [reading.bar for reading in read] == bars
    for number, reading in enumerate(read):
        assert reading.bpm == pytest.approx(120.0 / 1.005**number, rel=0.005)
    drift = drift_percent(read, [120.0] * 16)
    assert drift == pytest.approx(100 * (1.005**-15 - 1), abs=0.5)


def test_a_steady_take_does_not_drift() -> None:
    times = 0.3 + np.arange(128) * 0.25
    read = follow_bars(
        times, np.ones(128), range(5, 21), np.arange(17) * 2.0, [8] * 16, [120.0] * 16
    )
    assert drift_percent(read, [120.0] * 16) == pytest.approx(0.0, abs=0.01)
    assert all(abs(reading.late_ms) < 1.0 for reading in read)
    assert drift_percent(read[:2], [120.0] * 2) is None
    assert follow_bars(np.empty(0), np.empty(0), [1], [0.0, 2.0], [8], [120.0]) == []


def test_onsets_are_where_the_strokes_are() -> None:
    notes = m.perform(3, bars=6, style="pick", lead_in=0.4)
    sound = m.pluck(notes, seconds=13.0)
    found, strengths = onsets(onset_curve(np.mean(sound, axis=1).astype(np.float32), 22_050))
    gaps = np.array([found[np.argmin(np.abs(found - note.start))] - note.start for note in notes])
    assert np.quantile(np.abs(gaps - np.median(gaps)), 0.8) < 0.004
    assert abs(np.median(gaps)) < 0.012
    assert strengths.size == found.size


def test_no_onsets_in_silence() -> None:
    found, _ = onsets(onset_curve(np.zeros(30_000, dtype=np.float32), 22_050))
    assert found.size == 0
    assert onset_curve(np.zeros(10, dtype=np.float32), 22_050).size == 1
