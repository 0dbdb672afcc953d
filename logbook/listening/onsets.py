"""Where notes begin: an onset curve, the onsets in it, and how one curve lies against another.

The curve is spectral flux: the rise, band by band, of the log-compressed magnitude spectrum from
one short window to the next, summed over bands a third of an octave wide. It is
sampled at `RATE` frames a second.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.signals import Samples, resampled

Floats = npt.NDArray[np.float64]

AUDIO_RATE = 22_050
HOP = 64
RATE = AUDIO_RATE / HOP  # frames a second, about 345
WINDOW = 512
LEAST_APART_SECONDS = 0.05
SMOOTH_SECONDS = 0.004
FLOOR = 1e-3  # of full scale amplitude in a band: quieter is not heard as an onset


def onset_curve(samples: Samples, rate: int) -> Floats:
    """Strength of onset at every frame; frame n is centred n * HOP samples into the file."""
    audio = resampled(samples, rate, AUDIO_RATE)
    peak = float(np.max(np.abs(audio), initial=0.0))
    if peak <= 0.0 or audio.size < WINDOW:
        return np.zeros(max(1, audio.size // HOP))
    padded = np.pad(audio / np.float32(peak), (WINDOW // 2, WINDOW // 2))
    window = np.hanning(WINDOW).astype(np.float32)
    bands = _bands()
    view = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP]
    level = np.empty((len(view), len(bands)), dtype=np.float32)
    for at in range(0, len(view), 4096):
        magnitude = np.abs(fft.rfft(view[at : at + 4096] * window, axis=1))
        level[at : at + 4096] = magnitude @ bands.T
    level = np.log1p(level / np.float32(FLOOR * WINDOW / 4))
    gap = 3  # frames between the two windows compared: most of a window
    rise = np.maximum(level[gap:] - level[:-gap], 0.0)
    flux = np.concatenate([np.zeros(gap), np.sum(rise, axis=1)])
    # The rise stands out at the later window: half the gap earlier is its middle.
    flux = np.roll(flux, -(gap // 2))
    return np.asarray(ndimage.gaussian_filter1d(flux, SMOOTH_SECONDS * RATE), dtype=np.float64)


def _bands() -> Samples:
    """Triangular weights, bands x bins, a third of an octave apart from 80 Hz to 10 kHz."""
    centres = 80.0 * 2.0 ** (np.arange(22) / 3.0)
    bins = np.arange(WINDOW // 2 + 1) * AUDIO_RATE / WINDOW
    width = np.maximum(centres * (2 ** (1 / 3) - 1), 1.5 * AUDIO_RATE / WINDOW)
    weight = np.maximum(0.0, 1 - np.abs(bins[None, :] - centres[:, None]) / width[:, None])
    total = np.sum(weight, axis=1, keepdims=True)
    return np.asarray(weight / np.maximum(total, 1e-9), dtype=np.float32)


def onsets(curve: Floats) -> tuple[Floats, Floats]:
    """Times in seconds of the onsets in a curve, to a part of a frame, and their strengths."""
    apart = round(LEAST_APART_SECONDS * RATE)
    highest = ndimage.maximum_filter1d(curve, 2 * apart + 1)
    around = ndimage.uniform_filter1d(curve, round(1.0 * RATE))
    least = np.maximum(2.0 * around, 0.15 * float(np.quantile(curve, 0.995)))
    frames = np.flatnonzero((curve == highest) & (curve > least))
    frames = frames[(frames > 0) & (frames < curve.size - 1)]
    left, mid, right = curve[frames - 1], curve[frames], curve[frames + 1]
    bend = left - 2 * mid + right
    part = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    return (frames + part) / RATE, mid
