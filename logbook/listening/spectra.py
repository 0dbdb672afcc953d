"""Spectra of the stretches of a recording, one number a semitone, in the tuning of the take.

Sound is brought to 11,025 Hz. Windows of 0.74 s part semitones from about 60 Hz up; windows of
0.19 s tell what is struck from what still rings. Each spectrum becomes power on semitones from
MIDI 24 up, by a bell of 28 cents on frequency (never narrower than the window can part), moved by
the tuning offset. A semitone's power is given in decibels below the loudest of its stretch, as 0
(70 dB or more below) to 1. Equal temperament on A4 = 440 Hz is MIDI 69.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.signals import Samples, resampled

Floats = npt.NDArray[np.float32]

AUDIO_RATE = 11_025
LONG, SHORT = 8192, 2048
HOP = 512
LOWEST = 24  # MIDI
SEMITONES = 87  # to about 4.7 kHz
RANGE_DB = 70.0
CHANNELS = 5
SILENT_DB = -62.0  # of the loudest second of the file
SILENT_FULL_SCALE = 2e-4  # root mean square


class SpanSpectra(NamedTuple):
    """levels: spans x CHANNELS x SEMITONES, 0 to 1. loudness: root mean square of each span.

    Channels: mean over the stretch; highest over it; as struck (short windows from the start);
    just before it; at its end.
    """

    levels: Floats
    loudness: Floats


def semitone_bank(size: int, cents: float) -> Floats:
    """Weights, FFT bins x semitones, of a window of `size` samples."""
    hz = np.arange(size // 2 + 1) * AUDIO_RATE / size
    centres = 440.0 * 2.0 ** ((np.arange(SEMITONES) + LOWEST - 69 + cents / 100.0) / 12.0)
    width = np.maximum(centres * (2.0 ** (28.0 / 1200.0) - 1.0), 0.7 * AUDIO_RATE / size)
    return np.asarray(np.exp(-0.5 * ((hz[:, None] - centres) / width) ** 2), dtype=np.float32)


def semitone_power(audio: Samples, size: int, cents: float) -> Floats:
    """Power of every frame, frames x semitones; frame n is centred on sample n * HOP."""
    bank = semitone_bank(size, cents)
    used = int(np.flatnonzero(bank.max(axis=1) > 1e-4)[-1]) + 1
    window = np.hanning(size).astype(np.float32)
    window /= np.sum(window)
    padded = np.pad(audio, (size // 2, size // 2 + HOP))
    view = np.lib.stride_tricks.sliding_window_view(padded, size)[::HOP]
    out = np.empty((len(view), SEMITONES), dtype=np.float32)
    for at in range(0, len(view), 128):
        spectrum = fft.rfft(view[at : at + 128] * window, axis=1)[:, :used]
        out[at : at + 128] = (spectrum.real**2 + spectrum.imag**2) @ bank[:used]
    return out


def span_spectra(
    samples: Samples, rate: int, spans: Sequence[tuple[float, float]], cents: float
) -> SpanSpectra:
    """The spectra of every span of a recording tuned `cents` away from A4 = 440 Hz."""
    audio = resampled(samples, rate, AUDIO_RATE)
    long, short = (semitone_power(audio, size, cents) for size in (LONG, SHORT))
    total = np.concatenate([[0.0], np.cumsum(audio.astype(np.float64) ** 2)])
    levels = np.empty((len(spans), CHANNELS, SEMITONES), dtype=np.float32)
    loudness = np.empty(len(spans), dtype=np.float32)
    for n, (start, end) in enumerate(spans):
        levels[n] = _channels(long, short, start, end)
        low, high = (min(audio.size, max(0, round(t * AUDIO_RATE))) for t in (start, end))
        loudness[n] = np.sqrt(max(0.0, total[high] - total[low]) / max(1, high - low))
    return SpanSpectra(levels, loudness)


def _channels(long: Floats, short: Floats, start: float, end: float) -> Floats:
    inside = _frames(len(long), start, end, LONG)
    quick = _frames(len(short), start, end, SHORT)
    before = _frames(len(short), start - 0.25, start - 0.02, SHORT)
    struck = slice(quick.start, min(quick.stop, quick.start + 6))
    last = slice(max(quick.start, quick.stop - 4), quick.stop)
    power = np.stack(
        [
            long[inside].mean(axis=0),
            long[inside].max(axis=0),
            short[struck].mean(axis=0),
            short[before].mean(axis=0),
            short[last].mean(axis=0),
        ]
    )
    loudest = np.array([p.max() for p in power])
    loudest[3:] = loudest[2]  # before and after against as struck, so that ringing shows
    decibels = 10.0 * np.log10((power + 1e-14) / (loudest[:, None] + 1e-14))
    return np.asarray(np.clip(1.0 + decibels / RANGE_DB, 0.0, 1.3), dtype=np.float32)


def _frames(count: int, start: float, end: float, size: int) -> slice:
    """Frames whose window lies within a stretch, or the one in its middle."""
    half = 0.40 * size / AUDIO_RATE  # the window's feet weigh little
    first = round((start + half) * AUDIO_RATE / HOP)
    last = round((end - half) * AUDIO_RATE / HOP)
    if last < first:
        first = last = round(0.5 * (start + end) * AUDIO_RATE / HOP)
    first = min(max(first, 0), count - 1)
    return slice(first, min(max(last + 1, first + 1), count))
