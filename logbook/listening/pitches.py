"""Which pitches sound when, octaves folded, and how far two recordings agree in them.

A frame is twelve numbers, one for each pitch class from C, their mean taken away: two frames
agree as far as they point the same way (cosine, -1 to 1). Loud frames count for more. Two passes
of one part agree nearly throughout, also an octave apart; a bass under a guitar, or the same part
a few bars off, agrees only here and there.
"""

from __future__ import annotations

import numpy as np
from scipy import fft

from logbook.listening.onsets import RATE, Floats
from logbook.listening.signals import Samples, resampled

HOP_SECONDS = 0.1
WINDOW_SECONDS = 0.37  # long enough to part semitones from about 100 Hz up
AUDIO_RATE = 11_025
LOWEST_HZ, HIGHEST_HZ = 60.0, 2000.0
CANDIDATES, NEAR_SECONDS = 24, 0.15  # alignments tried, and how far strokes may lie from them
QUIET = 0.1  # of the usual frame: quieter ones count for less
LEAST_OVERLAP = 0.4  # of what the best overlap would be, by loudness


def pitch_frames(samples: Samples, rate: int) -> Floats:
    """Pitch classes of every frame, frames x 12, frame n from n * HOP_SECONDS on."""
    audio = resampled(samples, rate, AUDIO_RATE)
    size, hop = int(WINDOW_SECONDS * AUDIO_RATE), round(HOP_SECONDS * AUDIO_RATE)
    if audio.size < size:
        audio = np.pad(audio, (0, size - audio.size))
    hz = fft.rfftfreq(size, 1 / AUDIO_RATE)
    heard = (hz > LOWEST_HZ) & (hz < HIGHEST_HZ)
    classes = np.round(69 + 12 * np.log2(hz[heard] / 440.0)).astype(int) % 12
    fold = np.zeros((classes.size, 12), dtype=np.float32)
    fold[np.arange(classes.size), classes] = 1.0
    window = np.hanning(size).astype(np.float32)
    view = np.lib.stride_tricks.sliding_window_view(audio, size)[::hop]
    frames = np.empty((len(view), 12))
    for at in range(0, len(view), 512):
        magnitude = np.abs(fft.rfft(view[at : at + 512] * window, axis=1))
        frames[at : at + 512] = magnitude[:, heard] @ fold
    return np.asarray(frames - np.mean(frames, axis=1, keepdims=True), dtype=np.float64)


def agreement(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """How far two recordings agree at every shift of A: seconds, and -1 to 1 (0: hardly met).

    The shifts are what is to be added to A's times.
    """
    size = int(fft.next_fast_len(len(a) + len(b), real=True))
    dots = _correlated(a, b, size)
    norms = [np.linalg.norm(each, axis=1, keepdims=True) for each in (a, b)]
    could = _correlated(norms[0], norms[1], size)
    enough = could >= LEAST_OVERLAP * float(np.max(could, initial=1e-20))
    found = np.where(enough, dots / np.where(enough, could, 1.0), 0.0)
    shifts = np.arange(size)
    shifts = np.where(shifts < len(b), shifts, shifts - size)
    order = np.argsort(shifts, kind="stable")
    ordered = np.asarray(shifts[order] * HOP_SECONDS, dtype=np.float64)
    return ordered, np.asarray(found[order], dtype=np.float64)


def alike(a: Floats, b: Floats, offset: float) -> float:
    """How far frames agree, quiet ones as much as loud, with A `offset` seconds later: -1 to 1.

    A bass under a guitar agrees with it in the loud first of the bar and not in what follows.
    """
    shift = round(offset / HOP_SECONDS)
    x, y = a[max(0, -shift) :], b[max(0, shift) :]
    count = min(len(x), len(y))
    if count == 0:
        return 0.0
    one, other = (_levelled(each[:count]) for each in (x, y))
    both = float(np.sum(one * one)) * float(np.sum(other * other))
    return float(np.sum(one * other) / (np.sqrt(both) + 1e-12))


def _levelled(frames: Floats) -> Floats:
    """Frames of one length, but for what is hardly there."""
    length = np.linalg.norm(frames, axis=1, keepdims=True)
    return np.asarray(frames / (length + QUIET * float(np.median(length)) + 1e-12))


def _correlated(a: Floats, b: Floats, size: int) -> Floats:
    first, second = fft.rfft(a, size, axis=0), fft.rfft(b, size, axis=0)
    return np.asarray(np.sum(fft.irfft(second * np.conj(first), size, axis=0), axis=1))


def aligned(curves: tuple[Floats, Floats], frames: tuple[Floats, Floats]) -> tuple[float, float]:
    """Seconds to add to A's times so that it best lies on B, and how far the notes agree there.

    Strokes alone fit at every bar of a steady part, notes alone only to a tenth of a second:
    the places where the notes agree best are tried, each where the strokes fit best near it.
    """
    seconds, agree = agreement(*frames)
    size = int(fft.next_fast_len(curves[0].size + curves[1].size, real=True))
    a, b = (fft.rfft(curve - np.mean(curve), size) for curve in curves)
    strokes = fft.irfft(b * np.conj(a), size)
    strokes = strokes / (float(np.max(strokes)) + 1e-20)
    reach = np.arange(-round(NEAR_SECONDS * RATE), round(NEAR_SECONDS * RATE) + 1)
    best, tried = (0.0, -1.0, -9.0), np.argsort(agree)[::-1][:CANDIDATES]
    for place in tried:
        near = round(seconds[place] * RATE) + reach
        at = int(near[np.argmax(strokes[near % size])])
        worth = float(agree[place]) + 0.3 * float(strokes[at % size])
        if worth > best[2]:
            best = (at / RATE, float(agree[place]), worth)
    return best[0], best[1]
