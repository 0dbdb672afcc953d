"""Passes of a loop recording inside one file: where each begins, and how sure that is.

A recorder that loops lays pass after pass into one file, each exactly as long as the loop. So one
length is looked for at which the notes and the strokes of the file come again throughout; the
shortest that fits as well as any is taken, since all its multiples fit too. A count-in that was
kept has hardly any pitch, and nor has a pass in which nobody played. Music that repeats itself
looks alike: what is found is only offered.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import fft, ndimage

from logbook.listening.onsets import RATE, Floats, onset_curve, onsets
from logbook.listening.pitches import HOP_SECONDS, WINDOW_SECONDS, agreement, pitch_frames
from logbook.listening.signals import Samples

SHORTEST_S = 3.0
AS_GOOD = 0.08  # less likeness than the best length has, and the shorter is as good
LEAST_LIKE = 0.55  # of the notes of two passes, -1 to 1
SURE_LIKE = 0.9
NEAR_S = 0.15
WHOLE = 0.03  # of a pass the file may be longer or shorter than a whole number of them
LEAST_PART = 0.2  # of a pass that was broken off
OPENING_S, OPENING = 0.05, 0.05  # of the file, and of its peak: it begins with a note
MUSIC, FEWER = 0.5, 0.3  # of the usual loudness; of the pieces, which may be less alike
SILENT, FAINT = 0.15, 0.3  # of the usual loudness: nothing is played; too little to be alike
CLICK_FRAMES = 7
BEGUN, HELD_FRAMES, HELD = 0.4, 8, 0.75  # of the usual loudness, so long and so much of it
STROKES = 0.5  # what strokes count for beside notes


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPass:
    """A pass: seconds of the file, how sure (0 to 1), whether it stops before its end.

    silent: nothing was played in it.
    """

    start_s: float
    end_s: float
    sure: float
    broken_off: bool = False
    silent: bool = False


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
    # A click is heard in a few frames, with nothing between it and the next.
    loud = ndimage.grey_opening(np.linalg.norm(frames, axis=1), (CLICK_FRAMES,))
    # What sounds all along, as noise and a drone do, says nothing of where the music is.
    music = loud > FAINT * float(np.median(loud))
    if not np.any(music):
        return None
    frames = (frames - np.mean(frames[music], axis=0)) * music[:, None]
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
    if max(float(notes[chosen]), _mostly(frames, loud, float(shifts[chosen]))) < LEAST_LIKE:
        return None
    likely = (
        _shortest(frames, loud, notes, shifts, chosen)
        if length_s is None
        else float(shifts[chosen])
    )
    length = _exact(curve, likely, seconds)
    opening = np.abs(samples[: round(OPENING_S * rate)])
    at_once = float(np.max(opening, initial=0.0)) > OPENING * float(np.max(np.abs(samples)))
    begins = 0.0 if at_once else _begins(times, seconds, length)
    begins = max(begins, _counted_in(loud, times, length, seconds))
    passes = _passes(frames, loud, begins, length, seconds, float(times[-1]))
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


def _shortest(frames: Floats, loud: Floats, notes: Floats, shifts: Floats, chosen: int) -> float:
    """The shift (seconds), or the part of it in which most passes are alike as well.

    A pass without music, a count-in and one that was broken off make a loop's own length fit less
    than some multiple of it does, but not most of its passes that have music in them.
    """
    whole = float(shifts[chosen])
    level = _mostly(frames, loud, whole)
    for parts in range(int(whole / SHORTEST_S), 1, -1):
        about = np.abs(shifts - whole / parts) <= 2 * HOP_SECONDS
        if not np.any(about):
            continue
        part = float(shifts[about][np.argmax(notes[about])])
        alike = _mostly(frames, loud, part)
        if alike >= LEAST_LIKE and alike >= level - AS_GOOD:
            return part
    return whole


def _mostly(frames: Floats, loud: Floats, length: float) -> float:
    """How far most pieces of that length (seconds) are like those that follow them."""
    size = round(length / HOP_SECONDS)
    pairs = range(0, len(frames) - 2 * size + 1, max(1, size // 2))
    least = MUSIC * float(np.median(loud))
    found = [
        _alike(frames[at : at + size], frames[at + size : at + 2 * size])
        for at in pairs
        if min(float(np.mean(loud[n : n + size])) for n in (at, at + size)) > least
    ]
    return float(np.quantile(found, FEWER)) if found else 0.0


def _counted_in(loud: Floats, times: Floats, length: float, seconds: float) -> float:
    """Where the first pass begins after a count-in that was kept; 0 where there is none.

    A click has hardly any pitch. A loop that begins with a rest has one again a loop later.
    """
    music = loud > BEGUN * float(np.median(loud))
    held = np.lib.stride_tricks.sliding_window_view(music, HELD_FRAMES)
    at = int(np.argmax(np.mean(held, axis=1) >= HELD))
    size = round(length / HOP_SECONDS)
    again = music[size : size + at]
    begins = at * HOP_SECONDS + (0.5 * WINDOW_SECONDS if at else 0.0)
    if begins < 2 * NEAR_S or not again.size or float(np.mean(again)) < 0.5:
        return 0.0
    # The recorder stops at the end of a pass, if it does: that is exact where a note is not.
    whole = seconds - round((seconds - begins) / length) * length
    if abs(whole - begins) < 3 * HOP_SECONDS:
        return max(0.0, whole)
    near = times[np.abs(times - begins) < 3 * HOP_SECONDS]
    return float(near[np.argmin(np.abs(near - begins))]) if near.size else begins


def _begins(times: Floats, seconds: float, length: float) -> float:
    """Where the first pass begins: with the file if it holds whole passes, else its first note."""
    over = seconds / length - round(seconds / length)
    first = float(times[0])
    if abs(over) <= WHOLE and round(seconds / length) >= 2:
        return 0.0
    return 0.0 if first < NEAR_S else first


def _passes(
    frames: Floats, loud: Floats, begins: float, length: float, seconds: float, last_s: float
) -> tuple[HeardPass, ...]:
    """Passes one after the other, each as sure as its notes are those of the others."""
    count = max(1, int(np.ceil((seconds - begins) / length - WHOLE)))
    size = round(length / HOP_SECONDS)
    cut = [frames[round((begins + n * length) / HOP_SECONDS) :][:size] for n in range(count)]
    level = [
        float(np.mean(np.append(loud[round((begins + n * length) / HOP_SECONDS) :][:size], 0.0)))
        for n in range(count)
    ]
    heard = [each > SILENT * float(np.max(level)) for each in level]
    out = []
    for n, mine in enumerate(cut):
        start = begins + n * length
        end = min(start + length, seconds)
        played = min(end, last_s) - start
        if played < LEAST_PART * length:
            continue
        alike = [
            _alike(mine, other) for k, other in enumerate(cut) if k != n and heard[k] and len(other)
        ]
        like = max(alike, default=0.0)
        sure = float(np.clip((like - LEAST_LIKE + 0.25) / (SURE_LIKE - LEAST_LIKE + 0.25), 0, 1))
        out.append(
            HeardPass(
                start_s=start,
                end_s=end,
                sure=sure,
                silent=not heard[n],
                broken_off=heard[n]
                and (end - start < (1 - WHOLE) * length or played < 0.75 * length),
            )
        )
    # Where nothing was played nothing can be alike: it is a pass as surely as the others are.
    others = [each.sure for each in out if not each.silent]
    usual = float(np.median(others)) if others else 0.0
    return tuple(replace(each, sure=usual) if each.silent else each for each in out)


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
