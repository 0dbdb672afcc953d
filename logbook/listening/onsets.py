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
ATTACK_RATE = 1000.0  # frames a second where the beginning of an attack is looked for
ATTACK_BEFORE, ATTACK_AFTER = 0.045, 0.012  # seconds around an onset's place in the curve
ATTACK_SHARE = 0.12  # of the rise in level at which a note has begun
RISE_SECONDS = 0.008  # a string takes about that long to be heard once it is let go
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


def onsets(curve: Floats, *, around_times: float = 2.0) -> tuple[Floats, Floats]:
    """Times in seconds of the onsets in a curve, to a part of a frame, and their strengths.

    around_times: how many times the curve's mean within a second an onset must reach.
    """
    apart = round(LEAST_APART_SECONDS * RATE)
    highest = ndimage.maximum_filter1d(curve, 2 * apart + 1)
    around = ndimage.uniform_filter1d(curve, round(1.0 * RATE))
    least = np.maximum(around_times * around, 0.15 * float(np.quantile(curve, 0.995)))
    frames = np.flatnonzero((curve == highest) & (curve > least))
    frames = frames[(frames > 0) & (frames < curve.size - 1)]
    left, mid, right = curve[frames - 1], curve[frames], curve[frames + 1]
    bend = left - 2 * mid + right
    part = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1.0), 0.0)
    return (frames + part) / RATE, mid


def attacks(samples: Samples, rate: int, times: Floats) -> Floats:
    """The onsets' times set back to where the sound begins to rise, seconds.

    The curve's peaks stand in the middle of a strum; its beginning is what falls on the beat.
    """
    level = _treble(samples, rate)
    if level.size == 0:
        return times
    level = ndimage.maximum_filter1d(ndimage.uniform_filter1d(level, 3), 3)
    out = times.copy()
    before, after = round(ATTACK_BEFORE * ATTACK_RATE), round(ATTACK_AFTER * ATTACK_RATE)
    for number, time in enumerate(times):
        at = round(float(time) * ATTACK_RATE)
        first = max(0, at - before)
        part = level[first : min(level.size, at + after)]
        if part.size < before // 2:
            continue
        base = float(np.quantile(level[max(0, first - 20) : first + 10], 0.75))
        top = float(np.max(part))
        if top <= 1.2 * base:
            continue
        above = part > base + ATTACK_SHARE * (top - base)
        # The rise that leads to the loudest place, not a blip before it.
        place = int(np.argmax(part))
        quiet = np.flatnonzero(~above[:place])
        # A strum has small gaps between its strings: the first of those that crowd together.
        start = int(np.argmax(above)) if quiet.size == 0 else _first_of_strum(above, place)
        out[number] = (first + start) / ATTACK_RATE - RISE_SECONDS
    return out


def _first_of_strum(above: npt.NDArray[np.bool_], place: int) -> int:
    """The first place of a run up to `place` whose gaps are shorter than strings lie apart."""
    start, gap = place, 0
    for frame in range(place, -1, -1):
        if above[frame]:
            start, gap = frame, 0
        else:
            gap += 1
            if gap > 10:
                break
    return start


def jumps(samples: Samples, rate: int, times: Floats) -> Floats:
    """How far the treble's level jumps at each onset, against the part's usual jump (about 1).

    A pick or a finger leaving a string is in the treble; strings that beat against each other or
    are let go are not.
    """
    level = ndimage.uniform_filter1d(_treble(samples, rate), 5)
    if level.size == 0 or times.size == 0:
        return np.ones(times.size)
    out = np.zeros(times.size)
    for number, time in enumerate(times):
        at = round(float(time) * ATTACK_RATE)
        after = float(np.max(level[max(0, at) : at + 30], initial=0.0))
        around = level[max(0, at - 25) : max(1, at - 5)]
        out[number] = after - (float(np.median(around)) if around.size else 0.0)
    usual = float(np.quantile(out, 0.75))
    return np.asarray(np.clip(out / (usual + 1e-12), 0.0, None), dtype=np.float64)


def _treble(samples: Samples, rate: int) -> Floats:
    """Level of the sound's slope, every millisecond: the treble counts for more in it."""
    audio = np.diff(samples, prepend=samples[:1])
    hop = rate / ATTACK_RATE
    total = np.concatenate([[0.0], np.cumsum(audio.astype(np.float64) ** 2)])
    edges = np.minimum((np.arange(int(audio.size / hop) + 1) * hop).astype(int), audio.size)
    return np.asarray(np.sqrt(np.maximum(total[edges[1:]] - total[edges[:-1]], 0.0)))
