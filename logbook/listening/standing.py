"""Where whole takes stand against a bounce: the few lags at which each stands out of all.

One correlation of everything with everything, at a quarter of the low rate. Most pieces of a comp
stand where they were played, so these lags explain most of it before any block is looked up.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor

import numpy as np
from scipy import fft

from logbook.listening.searching import peaks
from logbook.listening.signals import Samples, Spectrum, cut, lowered

LOWERED = 4
MOST_PLACES = 6  # in a take
STEP = 1 << 15  # samples
NEAR = 3  # low samples that a coarse place may be off, when its peak is read between its samples


class Standing:
    """A sound that takes are held against, its spectrum ready."""

    def __init__(self, sound: Samples, takes: Sequence[Samples]) -> None:
        self.takes = takes
        coarse = lowered(sound, LOWERED)
        most = max(take.size for take in takes) // LOWERED + coarse.size + LOWERED
        self.size = int(fft.next_fast_len(most, real=True))
        self.spectrum = np.conj(_flat(coarse, self.size))

    def of(self, take: int) -> list[int]:
        """Lags (low samples) at which a take stands out of its correlation with the sound."""
        coarse = lowered(self.takes[take], LOWERED)
        found = fft.irfft(_flat(coarse, self.size) * self.spectrum, self.size)
        out = []
        for at, _ in peaks(np.asarray(found, dtype=np.float32), MOST_PLACES):
            between = at + _bend(found[at - 1], found[at], found[(at + 1) % self.size])
            out.append(round(LOWERED * (between if at < coarse.size else between - self.size)))
        return out


def _flat(coarse: Samples, size: int) -> Spectrum:
    spectrum = np.asarray(fft.rfft(coarse, size), dtype=np.complex64)
    level = np.abs(spectrum)
    spectrum /= np.sqrt(level + 1e-3 * np.mean(level) + 1e-12)
    return spectrum


def _bend(before: float, here: float, after: float) -> float:
    """Where between samples a peak lies, by a parabola through three."""
    bend = before - 2.0 * here + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend else 0.0


def standing(bounce: Samples, takes: Sequence[Samples], pool: Executor) -> list[list[int]]:
    """For every take the lags (samples of the sounds given) at which it stands out of a bounce."""
    stands = Standing(bounce, takes)

    def look(take: int) -> list[int]:
        return [_nearest(bounce, takes[take], lag) for lag in stands.of(take)]

    return list(pool.map(look, range(len(takes))))


def _nearest(bounce: Samples, take: Samples, lag: int) -> int:
    """The lag next to a coarse one at which the two agree best."""
    lags = range(lag - NEAR, lag + NEAR + 1)
    sums = np.zeros(len(lags))
    # Step by step, so that what is read once serves all lags.
    for first in range(0, bounce.size, STEP):
        part = bounce[first : first + STEP]
        reach = cut(take, first + lags[0], part.size + len(lags) - 1)
        sums += [float(np.vdot(part, reach[n : n + part.size])) for n in range(len(lags))]
    return lags[int(np.argmax(np.abs(sums)))]
