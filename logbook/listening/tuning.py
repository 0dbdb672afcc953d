"""The tuning reference heard in a recording, in cents from an A4.

Peaks of long-window spectra (about a second; their place found by a parabola through the logarithm
of the magnitude) are compared with equal temperament on the given A4. Where they crowd, on a
circle of one semitone, is the tuning. Overtones of strings run sharp, so only peaks up to about
1 kHz are asked, and louder ones more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.signals import Samples, resampled

Floats = npt.NDArray[np.float64]

AUDIO_RATE = 8000
WINDOW = 8192
HOP = 2048
LOWEST_HZ, HIGHEST_HZ = 75.0, 1100.0
PEAKS_A_WINDOW = 8
BIN_CENTS = 1.0
KERNEL_CENTS = 4.0
NEAR_CENTS = 12.0
# Share of the peaks near the tuning below which there is none: noise and drums have a quarter to a
# third by chance, a voice with vibrato half, strings nearly all.
LEAST_CLEAR = 0.42


class Peaks(NamedTuple):
    """Spectral peaks: their windows' middles in seconds, hertz, and strengths."""

    seconds: Floats
    hertz: Floats
    strengths: Floats


@dataclass(frozen=True, kw_only=True, slots=True)
class TuningReading:
    """cents: from the given A4, -50 to 50. a4_hz: the reference heard. clear: 0 to 1."""

    cents: float
    a4_hz: float
    clear: float


def read_tuning(samples: Samples, rate: int, a4_hz: float = 440.0) -> TuningReading | None:
    """Tuning of a recording; None where peaks are too few or crowd nowhere (drums, noise)."""
    read = tuning_of(spectral_peaks(samples, rate), a4_hz)
    return read if read is not None and read.clear >= LEAST_CLEAR else None


def tuning_of(peaks: Peaks, a4_hz: float) -> TuningReading | None:
    """Where peaks crowd, however little they do; None where they are too few."""
    _, frequencies, strengths = peaks
    if frequencies.size < 20:
        return None
    cents = 1200.0 * np.log2(frequencies / a4_hz)
    away = cents - 100.0 * np.round(cents / 100.0)
    centre, clear = _crowd(away, strengths)
    near = (away - centre + 50.0) % 100.0 - 50.0
    use = np.abs(near) < NEAR_CENTS
    for _ in range(3):
        centre += float(np.average(near[use], weights=strengths[use]))
        near = (away - centre + 50.0) % 100.0 - 50.0
        use = np.abs(near) < NEAR_CENTS
    centre = (centre + 50.0) % 100.0 - 50.0
    return TuningReading(cents=centre, a4_hz=a4_hz * 2 ** (centre / 1200.0), clear=clear)


def _crowd(away: Floats, strengths: Floats) -> tuple[float, float]:
    """Where deviations crowd on the circle of 100 cents, and their share near it."""
    bins = np.arange(-50.0, 50.0, BIN_CENTS)
    distance = (bins[:, None] - away[None, :] + 50.0) % 100.0 - 50.0
    heights = np.exp(-0.5 * (distance / KERNEL_CENTS) ** 2) @ strengths
    best = float(bins[int(np.argmax(heights))])
    near = np.abs((away - best + 50.0) % 100.0 - 50.0) < NEAR_CENTS
    return best, float(np.sum(strengths[near]) / np.sum(strengths))


def spectral_peaks(samples: Samples, rate: int, lowest_hz: float = LOWEST_HZ) -> Peaks:
    """The strongest low peaks of all windows, from `lowest_hz` up."""
    audio = resampled(samples, rate, AUDIO_RATE)
    if audio.size < WINDOW:
        return Peaks(np.empty(0), np.empty(0), np.empty(0))
    window = np.hanning(WINDOW).astype(np.float32)
    low = int(np.ceil(lowest_hz * WINDOW / AUDIO_RATE))
    high = int(HIGHEST_HZ * WINDOW / AUDIO_RATE)
    seconds: list[Floats] = []
    hertz: list[Floats] = []
    strengths: list[Floats] = []
    view = np.lib.stride_tricks.sliding_window_view(audio, WINDOW)[::HOP]
    loudest = 0.0
    for number, frame in enumerate(view):
        magnitude = np.abs(fft.rfft(frame * window))[: high + 2].astype(np.float64)
        inside = np.arange(low, high)
        below, above = magnitude[inside - 1], magnitude[inside + 1]
        top = inside[(magnitude[inside] > below) & (magnitude[inside] >= above)]
        if top.size == 0:
            continue
        loudest = max(loudest, float(np.max(magnitude[top])))
        top = top[np.argsort(-magnitude[top])[:PEAKS_A_WINDOW]]
        top = top[magnitude[top] > max(0.05 * np.max(magnitude[top]), 1e-3 * loudest)]
        left, mid, right = (np.log(magnitude[top + d] + 1e-12) for d in (-1, 0, 1))
        bend = left - 2 * mid + right
        part = np.where(bend < 0, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
        seconds.append(np.full(top.size, (number * HOP + 0.5 * WINDOW) / AUDIO_RATE))
        hertz.append((top + part) * AUDIO_RATE / WINDOW)
        strengths.append(np.sqrt(magnitude[top]))
    if not hertz:
        return Peaks(np.empty(0), np.empty(0), np.empty(0))
    return Peaks(np.concatenate(seconds), np.concatenate(hertz), np.concatenate(strengths))
