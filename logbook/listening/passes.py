"""Passes of a loop recording inside one file: where each begins, and how sure that is.

A recorder that loops lays pass after pass into one file, each exactly as long as the loop. So one
length is looked for at which the notes and the strokes of the file come again throughout; the
shortest that fits as well as any is taken, since all its multiples fit too. Music that repeats
itself looks alike: what is found is only offered.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from logbook.listening.onsets import RATE, Floats, onset_curve, onsets
from logbook.listening.pitches import HOP_SECONDS, agreement, pitch_frames
from logbook.listening.signals import Samples

SHORTEST_S = 3.0
AS_GOOD = 0.08  # less likeness than the best length has, and the shorter is as good
LEAST_LIKE = 0.55  # of the notes of two passes, -1 to 1
SURE_LIKE = 0.9
NEAR_S = 0.15
WHOLE = 0.03  # of a pass the file may be longer or shorter than a whole number of them
LEAST_PART = 0.2  # of a pass that was broken off
OPENING_S, OPENING = 0.05, 0.05  # of the file, and of its peak: it begins with a note
STROKES = 0.5  # what strokes count for beside notes


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPass:
    """A pass: seconds of the file, how sure (0 to 1), and whether it stops before its end."""

    start_s: float
    end_s: float
    sure: float
    broken_off: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPasses:
    """All passes of a file, and the loop's length in seconds."""

    length_s: float
    passes: tuple[HeardPass, ...]


def find_passes(
    samples: Samples, rate: int, *, length_s: float | None = None
) -> HeardPasses | None:
    """The passes of a recording; None where nothing comes again.

    length_s: of the loop where it is known, about.
    """
    seconds = samples.size / rate
    frames, curve = pitch_frames(samples, rate), onset_curve(samples, rate)
    times, _ = onsets(curve)
    # What sounds all along, as noise and a drone do, says nothing of where the music is.
    frames = frames - np.mean(frames, axis=0)
    if seconds < 2 * SHORTEST_S or times.size < 8:
        return None
    shifts, notes = agreement(frames, frames)
    strokes = _strokes_again(curve, shifts)
    worth = notes + STROKES * strokes
    low, high = (SHORTEST_S, 0.6 * seconds)
    if length_s is not None:
        low, high = 0.97 * length_s - 2 * HOP_SECONDS, 1.03 * length_s + 2 * HOP_SECONDS
    inside = np.flatnonzero((shifts >= low) & (shifts <= high) & (notes > 0.0))
    inside = inside[(inside > 0) & (inside < worth.size - 1)]
    tops = inside[(worth[inside] >= worth[inside - 1]) & (worth[inside] >= worth[inside + 1])]
    if not tops.size:
        return None
    best = float(np.max(worth[tops]))
    chosen = int(tops[np.flatnonzero(worth[tops] >= best - AS_GOOD)[0]])
    if notes[chosen] < LEAST_LIKE:
        return None
    length = _exact(curve, float(shifts[chosen]), seconds)
    opening = np.abs(samples[: round(OPENING_S * rate)])
    at_once = float(np.max(opening, initial=0.0)) > OPENING * float(np.max(np.abs(samples)))
    begins = 0.0 if at_once else _begins(times, seconds, length)
    passes = _passes(frames, begins, length, seconds, float(times[-1]))
    return HeardPasses(length_s=length, passes=passes) if len(passes) > 1 else None


def _strokes_again(curve: Floats, shifts: Floats) -> Floats:
    """How far strokes come again at each shift (seconds), against how far they are themselves."""
    level = curve - np.mean(curve)
    size = int(fft.next_fast_len(2 * curve.size, real=True))
    power = np.abs(fft.rfft(level, size)) ** 2
    like = fft.irfft(power, size)[: curve.size]
    shared = np.maximum(curve.size - np.arange(curve.size), 0.2 * curve.size) / curve.size
    like = like / (like[0] * shared + 1e-20)
    return np.asarray(
        np.interp(np.abs(shifts), np.arange(curve.size) / RATE, like), dtype=np.float64
    )


def _exact(curve: Floats, length: float, seconds: float) -> float:
    """The loop's length to a few milliseconds, from the most passes that lie apart."""
    level = curve - np.mean(curve)
    size = int(fft.next_fast_len(2 * curve.size, real=True))
    like = fft.irfft(np.abs(fft.rfft(level, size)) ** 2, size)[: curve.size]
    for times in range(1, int(0.75 * seconds / length) + 1):
        reach = NEAR_S if times == 1 else 0.02
        first = max(0, round((times * length - reach) * RATE))
        part = like[first : round((times * length + reach) * RATE) + 1]
        if part.size < 3:
            break
        length = (first + int(np.argmax(part))) / RATE / times
    return length


def _begins(times: Floats, seconds: float, length: float) -> float:
    """Where the first pass begins: with the file if it holds whole passes, else its first note."""
    over = seconds / length - round(seconds / length)
    first = float(times[0])
    if abs(over) <= WHOLE and round(seconds / length) >= 2:
        return 0.0
    return 0.0 if first < NEAR_S else first


def _passes(
    frames: Floats, begins: float, length: float, seconds: float, last_s: float
) -> tuple[HeardPass, ...]:
    """Passes one after the other, each as sure as its notes are those of the others."""
    count = max(1, int(np.ceil((seconds - begins) / length - WHOLE)))
    size = round(length / HOP_SECONDS)
    cut = [frames[round((begins + n * length) / HOP_SECONDS) :][:size] for n in range(count)]
    out = []
    for n, mine in enumerate(cut):
        start = begins + n * length
        end = min(start + length, seconds)
        played = min(end, last_s) - start
        if played < LEAST_PART * length:
            continue
        alike = [_alike(mine, other) for k, other in enumerate(cut) if k != n and len(other)]
        like = max(alike, default=0.0)
        sure = float(np.clip((like - LEAST_LIKE + 0.25) / (SURE_LIKE - LEAST_LIKE + 0.25), 0, 1))
        out.append(
            HeardPass(
                start_s=start,
                end_s=end,
                sure=sure,
                broken_off=end - start < (1 - WHOLE) * length or played < 0.75 * length,
            )
        )
    return tuple(out)


def _alike(a: Floats, b: Floats) -> float:
    size = min(len(a), len(b))
    if size < 5:
        return 0.0
    best = 0.0
    for shift in (-1, 0, 1):  # a frame is coarser than a player
        x = a[max(0, shift) : size + min(0, shift)]
        y = b[max(0, -shift) : size - max(0, shift)]
        norms = np.linalg.norm(x, axis=1) * np.linalg.norm(y, axis=1)
        best = max(best, float(np.sum(x * y) / (np.sum(norms) + 1e-20)))
    return best
