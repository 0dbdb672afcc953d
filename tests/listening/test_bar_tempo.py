"""Each bar's tempo from onsets with a player's scatter, and how the player sits on the click."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from logbook.listening.bar_tempo import BarGrid, BarReading, place_onsets, read_bars
from logbook.listening.onsets import onset_curve, onsets
from logbook.listening.sitting import read_sitting
from tests.listening import material as m

BARS = 20


def read(
    shares: np.ndarray,
    *,
    seed: int = 1,
    bpm: float = 100.0,
    jitter: float = 0.008,
    swing: float = 0,
) -> list[BarReading]:
    """Bars heard of a player who plays each at its share of the map's tempo."""
    rng = np.random.default_rng(seed)
    length = 240.0 / bpm
    starts = 0.7 + np.concatenate([[0.0], np.cumsum(length / shares)])
    times, strengths = [], []
    for first, last in pairwise(starts):
        for step in range(8):
            if step and rng.random() < 0.25:
                continue
            times.append(first + (last - first) * (step + swing * (step % 2)) / 8)
            strengths.append(1.0 + 0.5 * (step % 2 == 0) + rng.uniform(0, 0.4))
    at = np.array(times) + rng.normal(0, jitter, len(times))
    order = np.argsort(at)
    grid = BarGrid(
        list(range(3, 3 + shares.size)),
        [n * length for n in range(shares.size + 1)],
        [8] * shares.size,
        [bpm] * shares.size,
    )
    return read_bars(place_onsets(at[order], np.array(strengths)[order], grid, 0.7), grid)


@pytest.mark.parametrize("share", [1.025, 1.06, 1.1, 0.95])
@pytest.mark.parametrize(("bar", "swing"), [(6, 0.0), (13, 0.3)])
def test_one_bar_at_another_tempo(share: float, bar: int, swing: float) -> None:
    shares = np.ones(BARS)
    shares[bar] = share
    heard = read(shares, seed=bar, swing=swing)
    assert [each.bar for each in heard] == list(range(3, 23))
    for each, true in zip(heard, shares, strict=True):
        assert each.bpm == pytest.approx(100.0 * true, rel=0.01)
    # What is played evenly is one tempo and not a new one in every bar.
    assert len({round(each.bpm, 3) for each in heard}) == 2


def test_drift_steps_and_steady_playing() -> None:
    for shares in (1.004 ** np.arange(BARS), np.where(np.arange(BARS) < 9, 1.0, 1.03)):
        heard = read(shares)
        assert [each.bpm for each in heard] == pytest.approx(100.0 * shares, rel=0.01)
    steady = read(np.ones(BARS), jitter=0.015)
    assert len({each.bpm for each in steady}) == 1 or np.ptp([x.bpm for x in steady]) < 1e-6
    assert all(abs(each.bpm - 100.0) < max(3 * each.error_bpm, 0.02) for each in steady)
    assert read_bars(place_onsets(np.empty(0), np.empty(0), grid_of(2)), grid_of(2)) == []


def test_a_few_strokes_heard_late_are_no_rushed_bar() -> None:
    # As heard of four steady bars in which ringing strings blurred some of the attacks.
    late = [0, -7, -1, -4, 4, 60, 23, 40, 31, 44, 12, 27, -2, -2, 2, -4, 8, 4]
    place = [0, 0.5, 1, 1.5, 2, 2.25, 2.5, 3, 3.25, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 7.5]
    times = 0.3 + np.array(place) + np.array(late) / 1000
    heard = read_bars(place_onsets(times, np.ones(times.size), grid_of(4), 0.3), grid_of(4))
    assert max(each.bpm for each in heard) - min(each.bpm for each in heard) < 1.2


def grid_of(bars: int) -> BarGrid:
    return BarGrid(
        list(range(1, bars + 1)), [2.0 * n for n in range(bars + 1)], [8] * bars, [120.0] * bars
    )


def picked(tempo: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Six picked bars that begin at 0.5 s: their sound, and its onsets."""
    notes = m.perform(17, bars=6, tempo=tempo, lead_in=0.5, style="pick")
    sound = m.pluck(notes, seconds=13.5, rate=11_025)[:, 0].astype(np.float32)
    return sound, *onsets(onset_curve(sound, 11_025))


def test_how_the_player_sits() -> None:
    sound, times, strengths = picked(120.0)
    for late in (-0.018, 0.0, 0.025):
        click = 0.5 - late
        found = read_sitting(
            sound, 11_025, place_onsets(times, strengths, grid_of(6), click), click
        )
        assert found is not None
        assert abs(found.late_ms - 1000 * late) < 2.5 * found.error_ms
        assert found.error_ms < 5.0
        assert found.by_clock


def test_who_follows_no_click_does_not_sit_on_it() -> None:
    sound, times, strengths = picked(117.0)
    placed = place_onsets(times, strengths, grid_of(6), 0.5)
    assert read_sitting(sound, 11_025, placed, 0.5) is None
