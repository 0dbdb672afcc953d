"""Where in the takes could a stretch of the bounce come from: places worth a closer look.

Blocks of the bounce are correlated with the whole of every take by FFT, on signals whose
spectrum has been flattened twice: over the long term (see signals.whitened), and half of what
is left within each transform (dividing by the square root of the magnitude, midway between plain
and phase correlation). A stretch that is the same recording gives one sharp peak however it was
equalised; another performance of the same bars gives many low ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import fft

from logbook.listening.signals import Samples, Spectrum, cut, half_flat

AT_ONCE = 4  # segments transformed together, to spare memory
PEAKS_A_TAKE = 4
WORTH = 0.3  # of the highest peak
LEAST_RATIO = 8.0  # peak over root mean square of the correlation
RAISED = 1e-6  # of the highest magnitude: what lies under it is not raised
EXCLUDED = 12  # samples either side of a peak that belong to it


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """A take and a lag (samples at the search rate) with the height of its peak."""

    take: int
    lag: int
    ratio: float


class TakeIndex:
    """A take cut in overlapping segments, their spectra ready for blocks of `block` samples."""

    def __init__(self, take: Samples, block: int) -> None:
        self.block = block
        self.size = 1 << int(np.ceil(np.log2(3 * block)))
        self.step = self.size - block + 1
        count = max(1, -(-(take.size + block - 1) // self.step))
        self.spectra: Spectrum = np.empty((count, self.size // 2 + 1), dtype=np.complex64)
        for n in range(count):
            # The block may hang over either end of the take.
            part = cut(take, n * self.step - (block - 1), self.size)
            self.spectra[n] = half_flat(fft.rfft(part), of_highest=RAISED)

    def correlate(self, block: Samples) -> Samples:
        """Correlation at every position of the block's start, from -(block - 1) on."""
        wanted = np.conj(half_flat(fft.rfft(block, self.size), of_highest=RAISED))
        out = np.empty((len(self.spectra), self.step), dtype=np.float32)
        for n in range(0, len(self.spectra), AT_ONCE):
            rows = slice(n, n + AT_ONCE)
            out[rows] = fft.irfft(self.spectra[rows] * wanted, self.size, axis=1)[:, : self.step]
        return out.reshape(-1)


def peaks(correlation: Samples, count: int) -> list[tuple[int, float]]:
    """The `count` highest places of |correlation| as (index, ratio to root mean square)."""
    size = np.abs(correlation)
    level = float(np.sqrt(np.vdot(correlation, correlation) / size.size))
    if level == 0.0:
        return []
    found: list[tuple[int, float]] = []
    for _ in range(count):
        index = int(np.argmax(size))
        ratio = float(size[index]) / level
        if ratio < LEAST_RATIO:
            break
        found.append((index, ratio))
        size[max(0, index - EXCLUDED) : index + EXCLUDED + 1] = 0.0
    return found


def search_block(bounce: Samples, indexes: Sequence[TakeIndex], start: int) -> list[FoundPlace]:
    """The places in all takes that stand out for the block at `start`, best first."""
    return worthy(
        [
            place
            for take, index in enumerate(indexes)
            for place in places_in(bounce, take, index, start)
        ]
    )


def places_in(bounce: Samples, take: int, index: TakeIndex, start: int) -> list[FoundPlace]:
    """The places in one take that stand out for the block at `start`."""
    block = bounce[start : start + index.block]
    if not np.any(block):
        return []
    return [
        FoundPlace(take, at - (index.block - 1) - start, ratio)
        for at, ratio in peaks(index.correlate(block), PEAKS_A_TAKE)
    ]


def worthy(found: Sequence[FoundPlace]) -> list[FoundPlace]:
    """Those of a block's places that do not fall far behind the best, best first."""
    if not found:
        return []
    places = list(found)
    places.sort(key=lambda place: -place.ratio)
    return [place for place in places if place.ratio >= WORTH * places[0].ratio]
