"""Places at which everything that rings goes on from somewhere else, though nothing is struck.

A partial that rings goes on from one moment to the next as its phase and frequency say. Where a
take was recorded over, the partials before the place and those after it are of two performances:
they stand in the same notes, and yet none of their phases follows from those before. That is so
of any note struck anew, too, but there the sound rises; and where one string of several is
struck, the others ring on. So a place counts at which most of what sounds is there on both sides,
is steady on both, goes on in no partial, and has no attack near it. Nothing is told of a voice,
whose pitch is never steady for so long.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.onsets import Floats
from logbook.listening.signals import Samples, resampled

RATE = 11_025
WINDOW, HOP = 1024, 64
ADVANCE = 4  # hops over which a partial's frequency is read
GAP_HOPS = 4  # 23 ms between the two windows: a crossfade lies in it
APART_HOPS = WINDOW // HOP + GAP_HOPS
WITHIN_HOPS = 3 * WINDOW // HOP // 4
TREBLE_HZ = 1500.0
STEADY_RAD = 1.5  # by which a partial's two frequencies may part over the way between them
# Read from generated takes (24 s each of strings struck, picked and in a line, and of pads, seeds
# 3 to 6): what cuts of 0 to 20 ms show there and what strokes do.
BROKEN, STEADY, SHARED = 0.35, 0.6, 0.3
LEAST_PARTIALS = 5.0
QUIETEST_DB = -40.0
RISES_DB, TREBLE_RISES_DB = 3.0, 6.0  # after the place beside before it
LEVEL_S = 0.002
NEAR_S, STRUCK_NEAR_DB = 0.03, (5.0, 6.0)  # an attack: level, treble
FAR_S, STRUCK_FAR_DB = 0.06, (8.0, 12.0)
ALONE_HOPS = 9
SURE, SURE_AT = (0.6, 0.9), (1.0, 3.5)  # by deviations under what is broken
AT_ONCE = 1024  # places
MARGIN_S = 0.02


@dataclass(frozen=True, slots=True)
class RingBreak:
    """Seconds at which what rings is broken, give or take `MARGIN_S`, and how sure, 0 to 1."""

    at_s: float
    sure: float


@dataclass(frozen=True, slots=True)
class _Going:
    """How what sounds goes on between pairs of windows.

    on: mean cosine by which phases miss what is foretold, 1 where all go on. partials: how many
    these are. shared: how much of what sounds is there on both sides, 0 to 1.
    """

    on: Floats
    partials: Floats
    shared: Floats


def find_breaks(samples: Samples, rate: int) -> list[RingBreak]:
    """The places of a recording, in order."""
    sound = resampled(samples, rate, RATE)
    edge = 2 * APART_HOPS + 2 * ADVANCE
    count = (sound.size - WINDOW) // HOP + 1
    if count < 2 * edge + APART_HOPS + 1:
        return []
    struck = [_struck(each) for each in (sound, np.diff(sound, prepend=sound[:1]))]
    out: list[RingBreak] = []
    loudest = float(np.max(np.abs(sound)))
    for first in range(edge, count - edge - APART_HOPS, AT_ONCE):
        last = min(first + AT_ONCE, count - edge - APART_HOPS)
        begin, end = first - edge, last + edge + APART_HOPS
        part = sound[begin * HOP : (end - 1) * HOP + WINDOW]
        out += _breaks_in(part, np.arange(first, last) - begin, begin, struck, loudest)
    return out


def _breaks_in(
    sound: Samples,
    before: npt.NDArray[np.intp],
    offset: int,
    struck: list[Floats],
    loudest: float,
) -> list[RingBreak]:
    """The breaks after the windows numbered `before` of a part, which begins `offset` hops in."""
    window = np.hanning(WINDOW + 1)[:-1].astype(np.float32)
    rows = np.lib.stride_tricks.sliding_window_view(sound, WINDOW)[::HOP]
    spectra = np.asarray(fft.rfft(rows * window, axis=1), dtype=np.complex64)
    after = before + APART_HOPS
    across = _going_on(spectra, before, after)
    steady = np.minimum(
        _going_on(spectra, before - WITHIN_HOPS, before).on,
        _going_on(spectra, after, after + WITHIN_HOPS).on,
    )
    power = spectra.real**2 + spectra.imag**2 + 1e-12
    level = 10 * np.log10(np.sum(power, axis=1))
    treble = 10 * np.log10(np.sum(power[:, round(TREBLE_HZ * WINDOW / RATE) :], axis=1))
    quietest = 20 * np.log10(loudest * float(np.sum(window)) / 2 + 1e-12) + QUIETEST_DB
    at_s = ((before + after) / 2 + offset) * HOP / RATE + WINDOW / 2 / RATE
    good = (
        (across.on == ndimage.minimum_filter1d(across.on, 2 * ALONE_HOPS + 1))
        & (across.on < BROKEN)
        & (across.partials >= LEAST_PARTIALS)
        & (across.shared > SHARED)
        & (steady > STEADY)
        & (level[before] > quietest)
        & (level[after] - level[before] < RISES_DB)
        & (treble[after] - treble[before] < TREBLE_RISES_DB)
    )
    out = []
    for n in np.flatnonzero(good):
        place = float(at_s[n])
        if any(
            _highest(each, place, reach) > most[k]
            for k, each in enumerate(struck)
            for reach, most in ((NEAR_S, STRUCK_NEAR_DB), (FAR_S, STRUCK_FAR_DB))
        ):
            continue
        # Phases of no relation have a mean cosine of 0, its variance half of one over their number.
        clear = (BROKEN - float(across.on[n])) * float(np.sqrt(2 * across.partials[n]))
        out.append(RingBreak(place, round(float(np.interp(clear, SURE_AT, SURE)), 3)))
    return out


def _going_on(
    spectra: npt.NDArray[np.complex64], before: npt.NDArray[np.intp], after: npt.NDArray[np.intp]
) -> _Going:
    """How partials of the windows `before` go on in those `after`, pair by pair."""
    hops = int(after[0] - before[0])
    foretold = 2 * np.pi * np.arange(spectra.shape[1]) * HOP / WINDOW

    def turning(late: npt.NDArray[np.intp], early: npt.NDArray[np.intp]) -> Floats:
        turn = spectra[late] * np.conj(spectra[early]) * np.exp(-1j * foretold * ADVANCE)
        return np.asarray(np.angle(turn))

    here, there = turning(before, before - ADVANCE), turning(after + ADVANCE, after)
    parting = np.angle(np.exp(1j * (there - here)))
    # The mean of both frequencies holds for a partial that glides evenly.
    way = foretold * hops + (here + 0.5 * parting) * hops / ADVANCE
    missed = np.angle(spectra[after] * np.conj(spectra[before])) - way
    a, b = np.abs(spectra[before]), np.abs(spectra[after])
    both = a * b
    peak = np.zeros(both.shape, dtype=np.bool_)
    peak[:, 1:-1] = (both[:, 1:-1] > both[:, :-2]) & (both[:, 1:-1] >= both[:, 2:])
    counts = np.minimum(a, b) * peak * (np.abs(parting) * hops / ADVANCE < STEADY_RAD)
    total = np.sum(counts, axis=1) + 1e-12
    sounding = np.sqrt(np.sum(a * peak, axis=1) * np.sum(b * peak, axis=1)) + 1e-9
    return _Going(
        on=np.asarray(np.sum(counts * np.cos(missed), axis=1) / total, dtype=np.float64),
        partials=np.asarray(total**2 / (np.sum(counts**2, axis=1) + 1e-20), dtype=np.float64),
        shared=np.asarray(total / sounding, dtype=np.float64),
    )


def _struck(sound: Samples) -> Floats:
    """By how much the level rises at every step of 2 ms, decibels: what follows over what was."""
    size = round(LEVEL_S * RATE)
    count = sound.size // size
    power = np.mean(sound[: count * size].astype(np.float64).reshape(count, size) ** 2, axis=1)
    level = 10 * np.log10(ndimage.uniform_filter1d(power, 5) + 1e-12)
    after = ndimage.maximum_filter1d(level, 7, origin=-3)
    before = np.roll(ndimage.median_filter(level, 15, origin=7), 3)
    return np.asarray(after - before)


def _highest(rises: Floats, at_s: float, reach_s: float) -> float:
    # Steps are whole samples long, a little less than LEVEL_S.
    step = round(LEVEL_S * RATE) / RATE
    first, last = (round((at_s + side * reach_s) / step) for side in (-1, 1))
    return float(np.max(rises[max(0, first) : max(1, last + 1)], initial=-np.inf))
