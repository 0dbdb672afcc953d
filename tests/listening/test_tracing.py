"""The best path through scores, and the scores themselves."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.listening.edges import between, known_to_unknown
from logbook.listening.fitting import exact_lag
from logbook.listening.signals import cut, filtered, fractionally_later, lowered, moving_sum
from logbook.listening.tracing import UNKNOWN, best_path, framed, score, spans


def noise(count: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=count).astype(np.float32)


def test_the_path_pays_for_changes() -> None:
    scores = np.zeros((60, 2), dtype=np.float32)
    scores[:30, 0] = scores[30:, 1] = 1.0
    scores[10:13, 1] = 1.5  # not worth a change for three frames
    path = best_path(scores, np.array([2.0, 2.0], dtype=np.float32), 1.0)
    assert [(s.first, s.last, s.state) for s in spans(path, 1)] == [(0, 30, 0), (30, 60, UNKNOWN)]


def test_equal_scores_keep_the_state() -> None:
    scores = np.ones((50, 2), dtype=np.float32)
    scores[:5, 1] = 0.0
    path = best_path(scores, np.ones(2, dtype=np.float32), 1.0)
    assert set(path.tolist()) == {0}


def test_a_short_piece_scores_however_the_rest_leans() -> None:
    take, rest = noise(40_000, 1), noise(40_000, 2)
    bounce = rest - 0.1 * take  # what is not the take's leans the other way, by far the most of it
    bounce[20_000:23_000] = 0.5 * take[20_000:23_000]
    frames = framed(bounce, take, 0, 100)
    assert np.sum(frames.product) < 0.0
    found = score(frames, quiet=1e-6, best=1e-3, widths=(13,))
    assert np.min(found[202:228]) > 6.0


def test_a_right_take_scores_and_another_does_not() -> None:
    take, other = noise(20_000, 1), noise(20_000, 2)
    bounce = -0.3 * take[500:15_500]
    right = score(framed(bounce, take, 500, 100), quiet=1e-6, best=1e-3, widths=(13,))
    wrong = score(framed(bounce, other, 500, 100), quiet=1e-6, best=1e-3, widths=(13,))
    assert np.min(right) > 6.0
    assert np.median(wrong) < 0.2


def test_a_take_scores_nothing_where_it_has_no_sound() -> None:
    take = noise(5_000, 1)
    bounce = noise(10_000, 3)
    bounce[5_000:] = 0.0
    values = score(framed(bounce, take, 0, 100), quiet=1e-6, best=1e-3, widths=(13,))
    assert np.all(values[50:] == -2.0)


@pytest.mark.parametrize("by", [0.1, 0.5, 0.9])
def test_a_fraction_of_a_sample_later(by: float) -> None:
    t = np.arange(2_000)
    wave = np.sin(0.5 * t).astype(np.float32)
    moved = fractionally_later(wave, by)
    assert np.max(np.abs(moved - np.sin(0.5 * (t + by)))[50:-50]) < 0.01


def test_an_exact_lag_through_an_equaliser() -> None:
    take = noise(100_000, 4)
    heard = filtered(take, np.array([0, 0, 1.0, 0.5, 0.2], dtype=np.float32))
    bounce = cut(heard, 1_234, 60_000)
    lag = exact_lag(bounce, take, 1_230, [0, 9_000, 18_000, 27_000], 8, 8192)
    assert round(lag) in (1_233, 1_234)


def test_filtering_in_chunks_is_plain_convolution() -> None:
    samples, taps = noise(100_000, 5), noise(31, 6)
    assert np.allclose(filtered(samples, taps), np.convolve(samples, taps, "same"), atol=1e-4)


def test_lowering_keeps_time() -> None:
    t = np.arange(40_000)
    wave = np.sin(0.05 * t).astype(np.float32)
    low = lowered(wave, 4)
    assert low.size == 10_000
    assert np.max(np.abs(low - np.sin(0.2 * np.arange(10_000)))[20:-20]) < 0.02


def test_moving_sum_is_shorter_at_the_ends() -> None:
    assert moving_sum(np.ones(5, dtype=np.float32), 3).tolist() == [2, 3, 3, 3, 2]


def test_a_join_between_two_takes() -> None:
    a, b = noise(1_000, 7) ** 2, noise(1_000, 8) ** 2
    before = np.where(np.arange(1_000) < 420, 0.0, a)
    after = np.where(np.arange(1_000) < 420, b, 0.0)
    assert abs(between(before, after) - 420) <= 2


@pytest.mark.parametrize("added", [False, True])
def test_a_join_with_something_unknown(added: bool) -> None:
    take, other = noise(4_000, 9), noise(4_000, 10)
    bounce = take.copy()
    bounce[1_500:] = (take[1_500:] if added else 0.0) + other[1_500:]
    at = known_to_unknown((bounce - take) ** 2, bounce**2, away=1_600, typical=1e-4, width=45)
    assert abs(at - 1_500) < 60


def test_edge_where_another_voice_is_in_step_for_a_moment() -> None:
    """What happens to fit a little after the end is no part of the piece."""
    rng = np.random.default_rng(3)
    take, other = rng.normal(size=(2, 4000)).astype(np.float32)
    bounce = np.concatenate([take[:2000], other[2000:]])
    bounce[2000:2700] = 0.9 * take[2000:2700] + 0.5 * other[2000:2700]
    at = known_to_unknown((bounce - take) ** 2, bounce**2, away=1_600, typical=1e-4, width=45)
    assert at == pytest.approx(2000, abs=200)


def test_edge_where_a_coded_stroke_dies_away() -> None:
    """A coder leaves much over of what is soft: that is still the take."""
    rng = np.random.default_rng(4)
    take, other, coded = rng.normal(size=(3, 4000)).astype(np.float32)
    take[:2000] *= np.exp(-np.arange(2000) / 500).astype(np.float32)
    bounce = np.concatenate([take[:2000], other[2000:]]) + 0.02 * coded
    at = known_to_unknown((bounce - take) ** 2, bounce**2, away=1_600, typical=4e-4, width=45)
    assert at == pytest.approx(2000, abs=45)
