"""What a place is worth: how much a stretch can prove, and what is asked of how many were tried."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.listening.odds import holes, independent_samples, price, standing, worth

RATE = 5_512


def noise(count: int, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=count).astype(np.float32)


def test_noise_has_as_many_independent_samples_as_samples_and_a_held_tone_a_few() -> None:
    # The mean of squared power is twice the square of its mean, and the window takes a third: a
    # third of the samples is counted, rather too few than too many.
    assert independent_samples(noise(20_000)) == pytest.approx(20_000 / 3, rel=0.1)
    assert independent_samples(noise(200_000)) == pytest.approx(200_000 / 3, rel=0.1)
    tone = np.sin(2 * np.pi * 220 * np.arange(2 * RATE) / RATE).astype(np.float32)
    assert independent_samples(tone) < 4
    assert independent_samples(tone[:8]) == 0.0


def test_what_is_explained_speaks_for_a_place_and_what_is_not_against_it() -> None:
    weight = np.ones(100)
    good = worth(np.full(100, 2.0), weight, 500.0)
    assert np.sum(good) == pytest.approx(0.5 * 500 * 2.0)
    bad = worth(np.full(100, -1.0), weight, 500.0)
    assert np.sum(bad) < -0.5 * 500
    assert np.sum(worth(np.zeros(100), weight, 500.0)) == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("where", "found"), [((40, 60), [(40, 60)]), ((0, 30), [(0, 30)]), ((50, 54), [])]
)
def test_a_hole_is_found_where_a_take_stops_explaining(
    where: tuple[int, int], found: list[tuple[int, int]]
) -> None:
    """What is shorter than a join is placed by is none."""
    gained = np.full(100, 3.0)
    gained[slice(*where)] = -2.0
    assert holes(gained) == found
    assert holes(np.full(100, 3.0)) == []


def test_a_place_pays_for_the_lags_tried_once_and_each_stretch_for_itself() -> None:
    tried = 200_000.0
    enough = price(tried) + 1.0
    assert standing([0], [enough], tried) == [True]
    assert standing([0], [enough - 2.0], tried) == [False]
    # Two stretches at one place share the price; one that is hardly anything is none.
    half = 0.6 * enough
    assert standing([0, 0, 1], [half, half, half], tried) == [True, True, False]
    assert standing([0, 0], [2 * enough, 1.0], tried) == [True, False]
    assert price(100 * tried) > price(tried)
