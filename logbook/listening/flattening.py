"""Sound whose spectrum is flattened as it goes, window by window, its phases kept.

What lies between the partials of a note then counts as much as they do. Two performances of a note
share its partials; only the same recording shares the rest.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.signals import Samples, cut

Floats = npt.NDArray[np.float32]

HOP_SECONDS = 0.010
WINDOW_SECONDS = 0.046
REACH_SECONDS = 0.045
FLATTEN_SECONDS = 0.046
FLOOR = 1e-3  # of a window's strongest band: weaker bands stay weak


class Sounds:
    """Bounce and takes at a low rate; what is asked of them is flattened as it is read.

    weight: how far each frame of the bounce is above what rounding to 16 bits leaves, 0 to 1.
    quiet: power of that rounding in the signals given.
    """

    def __init__(
        self, bounce: Samples, takes: Sequence[Samples], rate: float, quiet: float
    ) -> None:
        self.rate = rate
        self.hop = max(1, round(HOP_SECONDS * rate))
        self.window = np.hanning(round(WINDOW_SECONDS * rate) + 2)[1:-1].astype(np.float32)
        self.reach = round(REACH_SECONDS * rate)
        self.size = 1 << round(float(np.log2(FLATTEN_SECONDS * rate)))
        self.bounce, self.takes = bounce, takes
        self.frames = max(1, bounce.size // self.hop)
        self.weight = _sounding(bounce, self.hop, self.frames, quiet)
        self.loudest = [max(float(np.max(x)), -float(np.min(x))) for x in takes]

    def of_bounce(self, first: int, count: int) -> Samples:
        """Flattened samples of the bounce."""
        loudest = max(float(np.max(self.bounce)), -float(np.min(self.bounce)))
        return self._flat(self.bounce, loudest, first, count)

    def of_take(self, take: int, first: int, count: int) -> Samples:
        """Flattened samples of a take."""
        return self._flat(self.takes[take], self.loudest[take], first, count)

    def _flat(self, sound: Samples, loudest: float, first: int, count: int) -> Samples:
        part = cut(sound, first - self.size, count + 2 * self.size)
        return flattened(part, self.size, loudest)[self.size : self.size + count]


def _sounding(bounce: Samples, hop: int, frames: int, quiet: float) -> Floats:
    squares = cut(bounce, 0, frames * hop).reshape(frames, hop) ** 2
    power = ndimage.uniform_filter1d(np.mean(squares, axis=1), 3)
    floor = 8.0 * quiet + 1e-7 * float(np.quantile(power, 0.95)) + 1e-20
    return np.asarray(power / (power + floor), dtype=np.float32) ** 2


def flattened(samples: Samples, size: int, loudest: float) -> Samples:
    """Every band brought to one level in every window of `size` samples, phases kept."""
    step = size // 4
    padded = np.pad(samples, (size, size + (-samples.size) % step))
    out = np.zeros_like(padded)
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    least = np.float32(1e-4 * (loudest + 1e-20) * size / 4)
    view = np.lib.stride_tricks.sliding_window_view(padded, size)[::step]
    for at in range(0, len(view), 2048):
        spectra = fft.rfft(view[at : at + 2048] * window, axis=1)
        level = np.abs(spectra)
        level += np.float32(FLOOR) * np.max(level, axis=1, keepdims=True) + least
        part = fft.irfft(spectra / level, size, axis=1) * window
        for n, row in enumerate(part):
            first = (at + n) * step
            out[first : first + size] += row
    return out[size : size + samples.size]
