"""Spectra of the stretches of a recording, one number a semitone, in the tuning of the take.

Sound is brought to 11,025 Hz. Windows of 0.74 s part semitones from about 60 Hz up, windows of
0.37 s steady the picture, windows of 0.19 s tell what is struck from what still rings. Each
spectrum becomes power on semitones from MIDI 23 up, by a bell on frequency (28 cents wide, never
narrower than the window can part), moved by the tuning offset; for the longest windows also by
bells of 14 cents a third of a semitone below, on and above the note, since the upper partials of
a low string lie beside the notes they would be taken for (the seventh 31 cents below). Levels
are decibels below the loudest of the stretch, as 0 (70 dB or more below) to 1. Equal temperament on
A4 = 440 Hz is MIDI 69.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import fft, sparse

from logbook.listening.signals import Samples

Floats = npt.NDArray[np.float32]

AUDIO_RATE = 11_025
LONG, MIDDLE, SHORT = 8192, 4096, 2048
HOP = 512
LOWEST = 23  # MIDI, the low B of a five-string bass
SEMITONES = 88  # to about 3.3 kHz
RANGE_DB = 70.0
WIDE, FINE, BESIDE = 28.0, 14.0, 33.0  # cents
RISE_HOPS = 2
RISE_DB, RISE_FLOOR_DB = 40.0, 65.0
CHANNELS = 10


def semitone_bank(size: int, cents: float, width_cents: float, beside: float = 0.0) -> Floats:
    """Weights, FFT bins x semitones, of a window of `size` samples."""
    hz = np.arange(size // 2 + 1) * AUDIO_RATE / size
    steps = np.arange(SEMITONES) + LOWEST - 69 + (cents + beside) / 100.0
    centres = 440.0 * 2.0 ** (steps / 12.0)
    width = np.maximum(centres * (2.0 ** (width_cents / 1200.0) - 1.0), 0.7 * AUDIO_RATE / size)
    return np.asarray(np.exp(-0.5 * ((hz[:, None] - centres) / width) ** 2), dtype=np.float32)


def semitone_power(audio: Samples, size: int, bank: Floats) -> Floats:
    """Power of every frame through a bank, frames x its columns; frame n is at sample n * HOP."""
    # Nearly all of a bank is nothing: the few bins of each semitone are all that is summed.
    few = sparse.csr_array(np.where(bank > 1e-4, bank, 0.0).T)
    window = np.hanning(size).astype(np.float32)
    window /= np.sum(window)
    padded = np.pad(audio, (size // 2, size // 2 + HOP))
    view = np.lib.stride_tricks.sliding_window_view(padded, size)[::HOP]
    out = np.empty((len(view), bank.shape[1]), dtype=np.float32)
    for at in range(0, len(view), 128):
        spectrum = fft.rfft(view[at : at + 128] * window, axis=1)
        power = spectrum.real**2 + spectrum.imag**2
        out[at : at + 128] = (few @ power.T).T
    return out


class SpectrumFrames(NamedTuple):
    """Power of a whole recording: frames x semitones for each window, and the rise in decibels.

    `fine` has three times as many columns: just below, on and just above each note.
    """

    fine: Floats
    long: Floats
    middle: Floats
    short: Floats
    rise: Floats


def frames_of(audio: Samples, cents: float) -> SpectrumFrames:
    """Spectra of sound at AUDIO_RATE tuned `cents` away from A4 = 440 Hz."""
    banks = [semitone_bank(LONG, cents, FINE, beside) for beside in (-BESIDE, 0.0, BESIDE)]
    long_bank = np.concatenate([*banks, semitone_bank(LONG, cents, WIDE)], axis=1)
    long = semitone_power(audio, LONG, long_bank)
    middle = semitone_power(audio, MIDDLE, semitone_bank(MIDDLE, cents, WIDE))
    short = semitone_power(audio, SHORT, semitone_bank(SHORT, cents, WIDE))
    level = 10.0 * np.log10(short + 1e-12)
    level = np.maximum(level, level.max() - RISE_FLOOR_DB)
    rise = np.zeros_like(level)
    if len(level) > 2 * RISE_HOPS:
        change = level[2 * RISE_HOPS :] - level[: -2 * RISE_HOPS]
        rise[RISE_HOPS:-RISE_HOPS] = np.maximum(change, 0.0)
    return SpectrumFrames(long[:, : 3 * SEMITONES], long[:, 3 * SEMITONES :], middle, short, rise)


def channels(frames: SpectrumFrames, start: float, end: float) -> Floats:
    """What the note model sees of one stretch (seconds), CHANNELS x SEMITONES, 0 to 1.3.

    Channels: mean over the stretch just below, on and just above the note; geometric mean; highest;
    as struck (short windows from the start); just before it; at its end; the steepest rise of
    the level in it; its first long windows.
    """
    count = len(frames.long)
    inside, middle = _within(count, start, end, LONG), _within(count, start, end, MIDDLE)
    quick = _within(count, start, end, SHORT)
    before = _within(count, start - 0.25, start - 0.02, SHORT)
    first = slice(inside.start, min(inside.stop, inside.start + 3))
    struck = slice(quick.start, min(quick.stop, quick.start + 6))
    last = slice(max(quick.start, quick.stop - 4), quick.stop)
    fine = frames.fine[inside].mean(axis=0).reshape(3, SEMITONES)
    loudest = float(frames.long[inside].mean(axis=0).max())
    short = frames.short[struck].mean(axis=0)
    ringing = float(short.max())  # before and after against as struck, so that ringing shows
    geometric = np.exp(np.log(frames.middle[middle] + 1e-14).mean(axis=0))
    rows = [
        *(_level(row, loudest) for row in fine),
        _level(geometric),
        _level(frames.middle[middle].max(axis=0)),
        _level(short, ringing),
        _level(frames.short[before].mean(axis=0), ringing),
        _level(frames.short[last].mean(axis=0), ringing),
        np.clip(frames.rise[max(0, quick.start - 2) : quick.stop].max(axis=0) / RISE_DB, 0.0, 1.3),
        _level(frames.long[first].mean(axis=0)),
    ]
    return np.asarray(np.stack(rows), dtype=np.float32)


def _level(power: Floats, loudest: float | None = None) -> Floats:
    against = float(power.max()) if loudest is None else loudest
    decibels = 10.0 * np.log10((power + 1e-14) / (against + 1e-14))
    return np.asarray(np.clip(1.0 + decibels / RANGE_DB, 0.0, 1.3), dtype=np.float32)


def _within(count: int, start: float, end: float, size: int) -> slice:
    """Frames whose window lies within a stretch, or the one in its middle."""
    half = 0.40 * size / AUDIO_RATE  # the window's feet weigh little
    first = round((start + half) * AUDIO_RATE / HOP)
    last = round((end - half) * AUDIO_RATE / HOP)
    if last < first:
        first = last = round(0.5 * (start + end) * AUDIO_RATE / HOP)
    first = min(max(first, 0), count - 1)
    return slice(first, min(max(last + 1, first + 1), count))
