"""Where whole takes stand against a bounce: the few lags at which each stands out of all.

One correlation of everything with everything, at a quarter of the low rate. Most pieces of a comp
stand where they were played, so these lags explain most of it before any block is looked up.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor

import numpy as np
from scipy import fft

from logbook.listening.candidates import COARSER, Work
from logbook.listening.homes import playing_home
from logbook.listening.searching import peaks
from logbook.listening.signals import Samples, Spectrum, cut, half_flat, lowered

MOST_PLACES = 6  # in a take
STEP = 1 << 15  # samples
LONG_SECONDS, NEAR_SECONDS, NEAR_RATIO = 60.0, 0.06, 4.0
NEAR = 3  # low samples that a coarse place may be off, when its peak is read between its samples


class Standing:
    """A sound that takes are held against, its spectrum ready."""

    def __init__(self, sound: Samples, coarse_takes: Sequence[Samples]) -> None:
        """Get ready a sound at the low rate for takes at the coarse one."""
        self.takes = coarse_takes
        coarse = lowered(sound, COARSER)
        most = max(take.size for take in coarse_takes) + coarse.size + 1
        self.size = int(fft.next_fast_len(most, real=True))
        self.spectrum = np.conj(_flat(coarse, self.size))

    def of(self, take: int, near: tuple[int, int] | None = None) -> list[int]:
        """Lags (low samples) at which a take stands out of its correlation with the sound.

        near: a lag and how far about it a lower peak is worth a look too.
        """
        coarse = self.takes[take]
        found = fft.irfft(_flat(coarse, self.size) * self.spectrum, self.size)
        places = [at for at, _ in peaks(np.asarray(found, dtype=np.float32), MOST_PLACES)]
        if near is not None:
            middle, reach = (each // COARSER for each in near)
            window = np.arange(middle - reach, middle + reach + 1) % self.size
            heights = np.abs(found[window])
            best = int(np.argmax(heights))
            at = int(window[best])
            if heights[best] > NEAR_RATIO * np.sqrt(np.mean(heights**2)):
                places += [] if any(abs(at - each) <= NEAR for each in places) else [at]
        out = []
        for at in places:
            between = at + _bend(found[at - 1], found[at], found[(at + 1) % self.size])
            out.append(round(COARSER * (between if at < coarse.size else between - self.size)))
        return out


def _flat(coarse: Samples, size: int) -> Spectrum:
    spectrum = np.asarray(fft.rfft(coarse, size), dtype=np.complex64)
    return half_flat(spectrum, of_mean=1e-3)


def _bend(before: float, here: float, after: float) -> float:
    """Where between samples a peak lies, by a parabola through three."""
    bend = before - 2.0 * here + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend else 0.0


def standing(work: Work, pool: Executor) -> list[list[int]]:
    """For every take the lags (low samples) at which it stands out of the bounce.

    In a long bounce a take that is hardly used is found where its strokes lie on the bounce's.
    """
    bounce, rate = work.low_bounce, work.low_rate
    stands = Standing(bounce, work.coarse_takes)
    long = bounce.size > LONG_SECONDS * rate

    def look(take: int) -> list[int]:
        sound = work.low_takes[take]
        near = None
        if long:
            near = (playing_home(bounce, sound, rate), round(NEAR_SECONDS * rate))
        lags = _nearest(bounce, sound, stands.of(take, near))
        work.let_go()
        return lags

    return list(pool.map(look, range(len(work.low_takes))))


def _nearest(bounce: Samples, take: Samples, coarse: Sequence[int]) -> list[int]:
    """For every coarse lag (low samples) the one next to it at which the two agree best.

    They lie in the lower half of their band, so that every second product has the same sum.
    """
    lags = np.asarray(coarse, dtype=np.int64)[:, None] + np.arange(-NEAR, NEAR + 1)
    sums = np.zeros(lags.shape)
    # Step by step, so that what is read once serves all lags.
    for first in range(0, bounce.size, STEP):
        part = bounce[first : first + STEP : 2].copy()
        for row, places in enumerate(lags.tolist()):
            reach = cut(take, first + places[0], 2 * part.size + len(places))
            halves = (reach[::2].copy(), reach[1::2].copy())
            sums[row] += [
                float(np.vdot(part, halves[n % 2][n // 2 : n // 2 + part.size]))
                for n in range(len(places))
            ]
    return [int(each) for each in lags[np.arange(len(lags)), np.argmax(np.abs(sums), axis=1)]]
