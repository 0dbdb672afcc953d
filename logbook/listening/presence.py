"""When a take is there itself, of which it is known how it answers (see responding).

A window of a second and a half says well which takes answer, and poorly when: in a hall a piece
goes on sounding, and the windows after it still answer to what was played before them. So short
windows are asked, each against what the take plays within that window alone. What came before it
is then no more than something that sounds on top: only a take that is there itself answers.

How far a short window should answer where the take is there is read from those of the take's own
stretches, less where the take plays softly under what sounds besides; how far one answers where it
is not, from those that answer less than nothing. Their likelihood ratio is summed along the path.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import fft

from logbook.listening.likeliest import likeliest_states
from logbook.listening.odds import price
from logbook.listening.phases import phases, stands_out
from logbook.listening.signals import Samples, cut, fast_size

WINDOW_SECONDS, HOP_SECONDS = 0.75, 0.125
PIECE_SECONDS = 3.0  # that pieces last, more or less
RAMP_SECONDS = 0.02
LEAST_CHANCE = 1.3  # deviations of windows in which a take is not
SPREAD = 0.4  # of what is usual, by which windows in which it is answer
LIKENESS, OFTEN_ALIKE = 0.25, 0.3  # of what is usual: what another performance answers at times
MOST_SAID = 20.0  # log likelihood ratio of one window
SILENT = 1e-9


@dataclass(frozen=True, slots=True)
class Answerer:
    """A take at a lag (both at the rate of the bounce), its response, and where it answers.

    response: from `before` samples ahead of its lag on; ranges: samples (first, exclusive last).
    """

    take: Samples
    lag: int
    response: Samples
    ranges: Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class PresentRun:
    """Samples `first` to `last` (exclusive) in which the answerer of that number is."""

    first: int
    last: int
    number: int


def present(
    bounce: Samples,
    rate: float,
    spans: Sequence[tuple[int, int]],
    answerers: Sequence[Answerer],
    before: int,
) -> list[list[PresentRun]]:
    """For every span of the bounce (samples) the runs in which answerers are, in order.

    before: samples of responses ahead of the lag.
    """
    size, hop = round(WINDOW_SECONDS * rate), round(HOP_SECONDS * rate)
    starts: list[int] = []
    bounds: list[tuple[int, int]] = []
    for first, last in spans:
        count = max(1, (last - first - size) // hop + 1)
        begin = first + (last - first - size - (count - 1) * hop) // 2
        bounds.append((len(starts), len(starts) + count))
        starts += [begin + n * hop for n in range(count)]
    windows = _Windows(bounce, np.array(starts), size)
    told = [windows.answers(one, before) for one in answerers]
    below = np.concatenate([z[z < 0.0] for z, _ in told])
    chance = max(LEAST_CHANCE, float(np.sqrt(np.mean(below**2)))) if below.size else LEAST_CHANCE
    said = [
        _said(z, level, windows.inside(one.ranges), chance)
        for one, (z, level) in zip(answerers, told, strict=True)
    ]
    none = np.zeros(len(starts))
    # Windows lie over one another: each says so much that its neighbours do not.
    gain = np.column_stack([*(hop / size * ratio for ratio, _ in said), none])
    lean = np.column_stack([*(leaning for _, leaning in said), none])
    # A take that answers pays for beginning at that window and at no other of a usual piece.
    many = np.log(PIECE_SECONDS / HOP_SECONDS * len(answerers))
    entry = np.append(np.full(len(answerers), many), 0.0)
    answered = np.column_stack([windows.inside(one.ranges) for one in answerers])
    out: list[list[PresentRun]] = []
    for (a, b), (first, last) in zip(bounds, spans, strict=True):
        path = likeliest_states(gain[a:b], entry)
        edges = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), path.size]
        turns = [_turn(lean[a:b], path, n, size // hop // 2) for n in edges[1:-1]]
        places = [first, *(starts[a + n] + (size - hop) // 2 for n in turns), last]
        out.append(
            [
                PresentRun(places[n], places[n + 1], int(path[begin]))
                for n, (begin, end) in enumerate(pairwise(edges))
                if path[begin] < len(answerers)
                and (
                    np.any(answered[a + begin : a + end, path[begin]])
                    or float(np.sum(gain[a + begin : a + end, path[begin]])) > price(1.0)
                )
            ]
        )
    return out


def _turn(lean: Samples, path: np.ndarray, at: int, reach: int) -> int:
    """The window at which one state gives way to another, near `at`: where half of it does."""
    low, high = max(0, at - reach), min(len(path), at + reach)
    change = lean[low:high, path[at - 1]] - lean[low:high, path[at]]
    return low + int(np.argmax(np.concatenate([[0.0], np.cumsum(change)])))


class _Windows:
    """Short windows of a bounce, ready to be held against takes."""

    def __init__(self, bounce: Samples, starts: np.ndarray, size: int) -> None:
        self.starts, self.size = starts, size
        window = np.hanning(size + 2)[1:-1].astype(np.float32)
        parts = np.stack([cut(bounce, int(at), size) for at in starts])
        # Moments that are known already were silenced: they say nothing.
        self.open = np.asarray((parts != 0.0) @ window / np.sum(window), dtype=np.float32)
        self.parts = parts * window
        self.power = np.einsum("ij,ij->i", self.parts, self.parts)
        ramp = max(1, round(RAMP_SECONDS / WINDOW_SECONDS * size))
        edge = np.minimum(1.0, np.arange(1, size + 1) / ramp).astype(np.float32)
        self.edge = edge * edge[::-1]
        self.window = window

    def answers(self, one: Answerer, before: int) -> tuple[Samples, Samples]:
        """How far each window answers (deviations), and how loud the take is beside the bounce."""
        count = one.response.size
        length = fast_size(self.size + count)
        lags = np.arange(-before, count - before) % length
        z = np.empty(len(self.starts), dtype=np.float32)
        level = np.empty_like(z)
        for at in range(0, len(self.starts), 64):
            here = slice(at, at + 64)
            played = np.stack(
                [cut(one.take, int(first) + one.lag, self.size) for first in self.starts[here]]
            )
            own = np.einsum("ij,j->i", played**2, self.window**2)
            level[here] = self.open[here] * own / (self.power[here] + SILENT)
            spectra = phases(np.asarray(fft.rfft(self.parts[here], length), dtype=np.complex64))
            take = np.asarray(fft.rfft(played * self.edge, length), dtype=np.complex64)
            spectra *= np.conj(phases(take))
            found = fft.irfft(spectra, length)[:, lags]
            found /= np.linalg.norm(found, axis=1, keepdims=True) + np.float32(1e-9)
            z[here] = stands_out(found, np.repeat(one.response[None, :], len(found), 0))[:, 0]
        return z, level

    def inside(self, ranges: Sequence[tuple[int, int]]) -> np.ndarray:
        """Which windows lie in one of the ranges."""
        out = np.zeros(len(self.starts), dtype=np.bool_)
        for first, last in ranges:
            out |= (self.starts >= first) & (self.starts + self.size <= last)
        return out


def _said(z: Samples, level: Samples, inside: np.ndarray, chance: float) -> tuple[Samples, Samples]:
    """What every window says for its take, log likelihood ratios.

    Second how far it leans to there (a half) or not there (less a half).
    """
    if not np.any(inside):
        return np.zeros_like(z), np.zeros_like(z)
    usual = float(np.median(z[inside]))
    usual_level = float(np.median(level[inside])) + SILENT
    expected = max(0.0, usual) * np.sqrt(np.minimum(1.0, level / usual_level))
    answers = np.maximum(z, 0.0)
    held = np.minimum(answers, expected)
    there = _normal(held - expected, np.hypot(chance, SPREAD * expected))
    alike = _normal(answers, np.hypot(2.0 * chance, LIKENESS * expected))
    away = np.logaddexp(
        np.log(1.0 - OFTEN_ALIKE) + _normal(answers, chance), np.log(OFTEN_ALIKE) + alike
    )
    # What would hardly answer says nothing either way.
    ratio = np.where(expected > chance, np.minimum(there - away, MOST_SAID), 0.0)
    return ratio, held / (expected + SILENT) - 0.5


def _normal(away: Samples, deviation: Samples | float) -> Samples:
    """Logarithm of a normal density."""
    return np.asarray(-0.5 * (away / deviation) ** 2 - np.log(deviation))
