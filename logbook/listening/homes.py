"""Where a whole take is likeliest to stand against a bounce: by its sound, or by its strokes."""

from __future__ import annotations

import numpy as np
from scipy import fft, ndimage

from logbook.listening.flattening import HOP_SECONDS
from logbook.listening.signals import Samples, Spectrum, cut, half_flat, lowered

APART = 8  # frames within which strokes lie on each other at one lag
SPREAD_SECONDS = 0.045
STANDS_OUT = 14.0  # of the mean square around it, for a peak to be more than chance
MOST_HOMES, NEARLY = 3, 0.5
LONGEST_LOOK = 1 << 22  # samples of the bounce that homes are looked for by
LONGEST_TRANSFORM = 1 << 20  # of both together; longer ones are looked at more coarsely
RESPONSE_SECONDS, QUIET = 0.25, 0.01


def homes_of(bounce: Samples, take: Samples, rate: float) -> list[int]:
    """The lags about which a take explains most of a bounce, in samples, the likeliest first.

    Pieces may lie some milliseconds from it, each in its own way: what stands out of the
    correlation's surroundings is summed over `SPREAD_SECONDS`. A second and third come with it
    where they are nearly as good.
    """
    if bounce.size + take.size > LONGEST_TRANSFORM:
        halves = (lowered(bounce[:LONGEST_LOOK], 2), lowered(take, 2))
        return [2 * lag for lag in homes_of(*halves, rate / 2)]
    part = bounce[:LONGEST_LOOK]
    size = int(fft.next_fast_len(part.size + take.size, real=True))
    cross = fft.rfft(take, size) * np.conj(fft.rfft(part, size))
    found = fft.irfft(half_flat(cross, of_mean=1e-3), size)
    squares = found * found
    around = ndimage.uniform_filter1d(squares, round(1.0 * rate), mode="wrap")
    ratio = squares / (np.maximum(around, 0.3 * np.mean(squares)) + 1e-30)
    excess = np.maximum(ratio - STANDS_OUT, 0.0)
    width = round(SPREAD_SECONDS * rate) | 1
    sums = ndimage.uniform_filter1d(excess, width, mode="wrap")
    out: list[int] = []
    height = float(np.max(sums))
    for _ in range(MOST_HOMES):
        best = int(np.argmax(sums))
        if height <= 0.0 or sums[best] < NEARLY * height:
            break
        places = np.arange(best - width // 2, best + width // 2 + 1)
        here = excess[places % size]
        centre = round(float(np.average(places, weights=here))) % size
        out.append(centre if centre < take.size else centre - size)
        sums[np.arange(best - width, best + width + 1) % size] = -1.0
    return out


def playing_home(bounce: Samples, take: Samples, rate: float) -> int:
    """The lag in samples at which the strokes of a take lie best on those of the bounce.

    It is good to a few hundredths of a second, and needs no sound that the two share.
    """
    return playing_homes(bounce, take, rate, 1)[0]


def playing_homes(bounce: Samples, take: Samples, rate: float, count: int) -> list[int]:
    """The lags in samples at which strokes lie best on each other, the best first."""
    hop = max(1, round(HOP_SECONDS * rate))
    curves = []
    for sound in (bounce, take):
        frames = max(2, sound.size // hop)
        rows = cut(sound, 0, frames * hop).reshape(frames, hop)
        power = np.einsum("ij,ij->i", rows, rows) / np.float32(hop)
        level = np.log(power + 1e-4 * np.mean(power) + 1e-20)
        curves.append(np.maximum(np.diff(level, prepend=level[0]), 0.0))
    size = int(fft.next_fast_len(curves[0].size + curves[1].size, real=True))
    b, x = (fft.rfft(curve - np.mean(curve), size) for curve in curves)
    found = fft.irfft(x * np.conj(b), size)
    out = []
    for _ in range(count):
        best = int(np.argmax(found))
        out.append((best if best < curves[1].size else best - size) * hop)
        found[np.arange(best - APART, best + APART + 1) % size] = -np.inf
    return out


def answering_homes(bounce: Samples, take: Samples, rate: float, count: int) -> list[int]:
    """The lags in samples about which most of a bounce answers a take, the best first.

    However a response is spread over time, it lies in some tenths of a second after one lag. Good
    to a tenth of a second; read from phases alone.
    """
    b, x, rate = bounce[::2], take[::2], rate / 2
    size = int(fft.next_fast_len(b.size + x.size, real=True))
    cross = _phases(x, size) * np.conj(_phases(b, size))
    squares = fft.irfft(cross, size) ** 2
    sums = ndimage.uniform_filter1d(squares, round(RESPONSE_SECONDS * rate), mode="wrap")
    away = round(RESPONSE_SECONDS * rate)
    out = []
    for _ in range(count):
        at = int(np.argmax(sums))
        # The response comes after its beginning: the lags of what is late are earlier.
        middle = at if at < x.size else at - size
        out.append(2 * (middle + away // 4))
        sums[np.arange(at - away, at + away + 1) % size] = 0.0
    return out


def _phases(sound: Samples, size: int) -> Spectrum:
    """A spectrum of which only the phases are left, where there is anything at all."""
    spectrum = np.asarray(fft.rfft(sound, size), dtype=np.complex64)
    level = ndimage.uniform_filter1d(np.abs(spectrum), 9)
    level += np.float32(QUIET) * np.sqrt(np.mean(level**2)) + np.float32(1e-9)
    return np.asarray(spectrum / level, dtype=np.complex64)
