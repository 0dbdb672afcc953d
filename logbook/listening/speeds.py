"""A bounce that runs at another speed than its takes: a clock that was off, or varispeed.

How much faster is read in three steps, each finer than the one before: where the long-term
spectra lie on each other along the logarithm of frequency; at which speed near there short
blocks of the bounce stand out best of the takes; and how the lag drifts within what was then
found. After that the bounce is heard at the takes' own speed, exactly as any other.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from functools import partial

import numpy as np
from scipy import fft, ndimage

from logbook.listening import searching
from logbook.listening.candidates import Work
from logbook.listening.fitting import SoundMatch, exact_lag
from logbook.listening.signals import Samples, cut
from logbook.listening.tracing import UNKNOWN

MOST_CENTS, CENT_STEP = 70.0, 0.5
SPECTRUM_SECONDS = 6.0
LOWEST_HZ, HIGHEST_HZ = 80.0, 2500.0
BLOCK_SECONDS, MOST_BLOCKS = 1.0, 6
NEAR_PPM, STEP_PPM = 600.0, 150.0
# A peak squared over its surroundings; blocks of another performance have 100 to 300 of it.
CLEARLY = 1.5
TAPS, PHASES, AT_ONCE = 24, 512, 1 << 15
LEAST_MATCH_SECONDS, MOST_MATCHES = 1.5, 8
LEAST_DRIFT_PPM, SURE_TIMES = 2.0, 4.0


def at_speed(samples: Samples, slower: float) -> Samples:
    """Sound that took `slower` times its own time brought back to it, by a windowed sinc.

    `slower` is near 1: what lies above a tenth under the Nyquist frequency is not exact.
    """
    count = int(samples.size / slower)
    places = np.arange(-TAPS // 2 + 1, TAPS // 2 + 1)
    away = places[None, :] - np.arange(PHASES + 1)[:, None] / PHASES
    table = (np.sinc(away) * np.cos(np.pi * away / (TAPS + 2)) ** 2).astype(np.float32)
    table /= np.sum(table, axis=1, keepdims=True)
    padded = np.pad(samples, (TAPS, 2 * TAPS))
    view = np.lib.stride_tricks.sliding_window_view(padded, TAPS)
    out = np.empty(count, dtype=np.float32)
    for first in range(0, count, AT_ONCE):
        at = np.arange(first, min(count, first + AT_ONCE)) * slower
        whole = at.astype(np.int64)
        phase = (at - whole) * PHASES
        row = phase.astype(np.int64)
        part = (phase - row).astype(np.float32)[:, None]
        taps = table[row] * (1 - part) + table[np.minimum(row + 1, PHASES)] * part
        rows = view[whole + TAPS - TAPS // 2 + 1]
        out[first : first + at.size] = np.einsum("ij,ij->i", rows, taps)
    return out


def rough_speed(work: Work, pool: Executor) -> float | None:
    """Bounce time over take time where another speed than 1 fits clearly better; else None."""
    half = work.low_bounce[::2].copy()
    rate = work.low_rate / 2
    block = round(BLOCK_SECONDS * rate)
    wide = round(block * 2 ** ((MOST_CENTS + 10) / 1200))
    starts = _loud_blocks(half, wide)
    if not starts:
        return None
    index = partial(searching.TakeIndex, block=block)
    indexes = list(pool.map(index, [take[::2] for take in work.low_takes]))

    def stands_out(slower: float) -> float:
        ratios = []
        for at in starts:
            part = at_speed(half[at : at + wide], slower)[:block]
            found = searching.search_block(np.pad(part, (0, block - part.size)), indexes, 0)
            ratios.append(found[0].ratio ** 2 if found else 0.0)
        return float(np.mean(ratios))

    near = np.arange(-NEAR_PPM, NEAR_PPM + 1, STEP_PPM) * 1e-6
    shifts = {0.0, _spectral_shift(work)}
    tried = sorted({2 ** (-shift / 1200) * (1 + step) for shift in shifts for step in near})
    heights = list(pool.map(stands_out, tried))
    best = int(np.argmax(heights))
    as_it_is = stands_out(1.0)
    return tried[best] if heights[best] > CLEARLY * as_it_is else None


def _loud_blocks(sound: Samples, size: int) -> list[int]:
    starts = list(range(0, max(1, sound.size - size), size))
    energy = np.array(
        [float(np.vdot(sound[at : at + size], sound[at : at + size])) for at in starts]
    )
    loud = np.flatnonzero(energy > 0.5 * np.median(energy))
    if loud.size == 0:
        return []
    chosen = loud[np.linspace(0, loud.size - 1, min(MOST_BLOCKS, loud.size)).astype(int)]
    return [starts[n] for n in chosen]


def _spectral_shift(work: Work) -> float:
    """Cents by which the bounce is sharp of its takes."""
    size = 1 << round(float(np.log2(SPECTRUM_SECONDS * work.low_rate)))
    cents = np.arange(0.0, 1200 * np.log2(HIGHEST_HZ / LOWEST_HZ), CENT_STEP)
    bins = LOWEST_HZ * 2 ** (cents / 1200) * size / work.low_rate

    def line(sound: Samples) -> Samples:
        window = np.hanning(size).astype(np.float32)
        total = np.zeros(size // 2 + 1)
        for at in range(0, max(1, sound.size - size // 2), size // 2):
            total += np.abs(fft.rfft(cut(sound, at, size) * window))
        level = np.log(np.interp(bins, np.arange(total.size), total) + 1e-3 * np.mean(total))
        out = level - ndimage.uniform_filter1d(level, round(100 / CENT_STEP))
        return np.asarray(np.maximum(out, 0.0), dtype=np.float32)

    bounce = line(work.low_bounce)
    takes = np.sum(np.stack([line(take) for take in work.low_takes]), axis=0)
    reach = round(MOST_CENTS / CENT_STEP)
    shifts = np.arange(-reach, reach + 1)
    inner = slice(reach, -reach)
    heights = [float(bounce[inner] @ np.roll(takes, shift)[inner]) for shift in shifts]
    return float(shifts[int(np.argmax(heights))] * CENT_STEP)


def drift_of(work: Work, matches: Sequence[SoundMatch]) -> float:
    """How much the lag grows per sample within the pieces found; 0 where it is not certain."""
    size = 1 << round(float(np.log2(0.2 * work.rate)))
    slopes, weights = [], []
    known = [m for m in matches if m.take != UNKNOWN]
    for m in sorted(known, key=lambda m: m.first - m.last)[:MOST_MATCHES]:
        length = m.last - m.first
        if length < LEAST_MATCH_SECONDS * work.rate:
            continue
        count = int(min(12, (length - size) // size))
        starts = [m.first + round((length - size) * n / (count - 1)) for n in range(count)]
        take = work.takes[m.take]
        reach = max(8, round(2e-3 * work.rate))
        at = np.array(starts, dtype=np.float64)
        lags = np.array([exact_lag(work.bounce, take, m.lag, [s], reach, size) for s in starts])
        pairs = [
            (float((lags[j] - lags[i]) / (at[j] - at[i])), float(at[j] - at[i]))
            for i in range(count)
            for j in range(i + count // 2, count)
        ]
        slopes += [slope for slope, _ in pairs]
        weights += [apart for _, apart in pairs]
    if not slopes:
        return 0.0
    order = np.argsort(slopes)
    total = np.cumsum(np.array(weights)[order])
    middle = float(np.array(slopes)[order][int(np.searchsorted(total, 0.5 * total[-1]))])
    spread = float(np.median(np.abs(np.array(slopes) - middle))) / 0.6745
    error = spread / np.sqrt(len(slopes) / 4)
    return middle if abs(middle) > max(LEAST_DRIFT_PPM * 1e-6, SURE_TIMES * error) else 0.0
