"""Whether a player sits behind the click or ahead of it as a whole, and how sure that is.

Where a note's sound begins is looked for to the millisecond, and held against where its beat falls
by the click. Beats count and not what lies between them, which may be swung. The middle of all is
how the player sits; its error comes from leaving out bars, together with what the beginning of a
sound itself can be told by.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.listening.bar_tempo import PlacedOnsets
from logbook.listening.onsets import ATTACK_RATE, Floats
from logbook.listening.signals import Samples

BEFORE_S, AFTER_S = 0.04, 0.02
RISING = 12  # milliseconds before an onset's place in which its sound may begin
BEGUN_SHARE = 0.15  # of the rise in level
BEGINNING_MS = 2.0  # how well the beginning of a sound can be told
MOST_S = 0.06  # further off is no playing to that click
LEAST_NOTES, LEAST_BARS = 8, 3
KEEPS_S = 0.04  # how far the bars may wander for the player to be held by a click


@dataclass(frozen=True, kw_only=True, slots=True)
class Sitting:
    """late_ms: how far behind the click the player sits, negative for ahead; its standard error.

    by_clock: whether it is known where the click falls in the file, not only taken to begin with
    it.
    """

    late_ms: float
    error_ms: float
    by_clock: bool


def read_sitting(
    samples: Samples, rate: int, placed: PlacedOnsets, first_at_s: float | None
) -> Sitting | None:
    """How the player sits; None where too little is placed, or the player follows no such click.

    first_at_s: where the map's first bar falls in the file, None where nobody knows: then the file
    is taken to begin there, if that makes sense at all.
    """
    beat = placed.step % 2 == 0
    if np.sum(beat) < LEAST_NOTES:
        return None
    begun = begins(samples, rate, placed.time_s[beat])
    late = begun - placed.place_s[beat] - (first_at_s or 0.0)
    middle = float(np.median(late))
    near = np.abs(late - middle) < MOST_S
    if abs(middle) > MOST_S or np.sum(near) < max(LEAST_NOTES, 0.6 * late.size):
        return None
    late, place = late[near], placed.place_s[beat][near]
    groups = np.array_split(np.arange(late.size), max(LEAST_BARS, min(16, late.size // 4)))
    means = np.array([float(np.median(late[group])) for group in groups if group.size])
    slope = np.polyfit(place, late, 1)[0] if np.ptp(place) > 0.0 else 0.0
    if abs(float(slope)) * float(np.ptp(place)) > KEEPS_S or float(np.ptp(means)) > 2 * KEEPS_S:
        return None
    error = 1000.0 * float(np.std(means, ddof=1)) / np.sqrt(means.size)
    return Sitting(
        late_ms=1000.0 * float(np.median(late)),
        error_ms=float(np.hypot(error, BEGINNING_MS)),
        by_clock=first_at_s is not None,
    )


def begins(samples: Samples, rate: int, times: Floats) -> Floats:
    """Where the sound of each onset (seconds) begins to rise, seconds."""
    slope = np.diff(samples, prepend=samples[:1]).astype(np.float64)
    total = np.concatenate([[0.0], np.cumsum(slope**2)])
    hop = rate / ATTACK_RATE
    edges = np.minimum((np.arange(int(slope.size / hop) + 1) * hop).astype(int), slope.size)
    level = np.sqrt(np.maximum(total[edges[1:]] - total[edges[:-1]], 0.0))
    out = times.copy()
    before, after = round(BEFORE_S * ATTACK_RATE), round(AFTER_S * ATTACK_RATE)
    for number, time in enumerate(times):
        at = round(float(time) * ATTACK_RATE)
        first = max(0, at - before)
        part = level[first : at + after]
        if part.size < before // 2:
            continue
        base = float(np.quantile(part[: before - RISING], 0.9))
        top = int(np.argmax(part))
        if part[top] < 1.5 * base:
            continue
        above = part[: top + 1] > base + BEGUN_SHARE * (part[top] - base)
        # The last rise that leads there: gaps of a few milliseconds lie within one attack.
        gaps = np.flatnonzero(~above)
        start = top
        for frame in range(top, -1, -1):
            if above[frame]:
                start = frame
            elif start - frame > 8:
                break
        if gaps.size:
            out[number] = (first + start) / ATTACK_RATE
    return out
