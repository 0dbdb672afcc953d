"""Edit points to the millisecond: where one explanation of the sound gives way to the next.

Between two takes the edit point is where, summed over the sound around it, the least is left of
the bounce when the one before is taken away up to there and the other from there on. Beside
something unknown it is the place that best parts a stretch with little left from one with much.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from logbook.listening.candidates import Work
from logbook.listening.fitting import Channel, SoundMatch, fitted
from logbook.listening.signals import Samples, moving_sum
from logbook.listening.tracing import UNKNOWN

REACH_SECONDS = 0.08
FAR_SECONDS = 0.2
GAIN_SECONDS = 0.25
SMOOTH_SECONDS = 0.002
MOST_FADE_WIDTHS = 4
EXACT_LEFT = 3e-4  # usually left over, at most, where nothing but rounding was done to takes
STILL_THERE = -0.1  # part of the energy the take still explains under something added


def place_edges(
    work: Work, channel: Channel, matches: Sequence[SoundMatch], typical: float
) -> list[SoundMatch]:
    """The same matches with their joins moved to where the sound changes."""
    out = list(matches)
    for n in range(len(out) - 1):
        at = _edge(work, channel, out[n], out[n + 1], typical)
        out[n] = replace(out[n], last=at)
        out[n + 1] = replace(out[n + 1], first=at)
    return out


def _edge(
    work: Work, channel: Channel, before: SoundMatch, after: SoundMatch, typical: float
) -> int:
    """The sample at which `before` gives way to `after`, near where they meet now."""
    at = before.last
    known = before.take != UNKNOWN and after.take != UNKNOWN
    reach = round((REACH_SECONDS if known else FAR_SECONDS) * work.rate)
    low = max(at - reach, (before.first + at) // 2)
    high = min(at + reach, (after.last + at) // 2)
    if high - low < 8:
        return at
    left = None if before.take == UNKNOWN else _left(work, channel, before, low, high, at, -1)
    right = None if after.take == UNKNOWN else _left(work, channel, after, low, high, at, 1)
    if left is not None and right is not None:
        return low + between(left[0], right[0])
    parts = left or right
    if parts is None:
        return at
    if right is not None:
        parts = (right[0][::-1], right[1][::-1])
    width = round(SMOOTH_SECONDS * work.rate) | 1
    away = at - low if right is None else high - at
    turned = known_to_unknown(*parts, away=away, typical=typical, width=width)
    return low + turned if right is None else high - turned


def _left(
    work: Work, channel: Channel, match: SoundMatch, low: int, high: int, at: int, side: int
) -> tuple[Samples, Samples]:
    """Squares left over by a match, and squares of the bounce, from `low` to `high`.

    The gain is that of the quarter of a second on the match's own side, clear of the join.
    """
    clear = round(0.02 * work.rate)
    long = round(GAIN_SECONDS * work.rate)
    if side < 0:
        own = (max(match.first, at - clear - long), max(match.first + 1, at - clear))
    else:
        own = (min(match.last - 1, at + clear), min(match.last, at + clear + long))
    first, last = min(low, own[0]), max(high, own[1])
    bounce, take = fitted(
        work.bounce, work.takes[match.take], replace(match, first=first, last=last), channel
    )
    mine = slice(own[0] - first, own[1] - first)
    gain = gain_of(bounce[mine], take[mine])
    here = slice(low - first, high - first)
    rest = bounce[here] - np.float32(gain) * take[here]
    return rest * rest, bounce[here] * bounce[here]


def between(before: Samples, after: Samples) -> int:
    """Index at which squares left by `before` give way to squares left by `after`."""
    change = np.cumsum(before.astype(np.float64) - after.astype(np.float64))
    return int(np.argmin(np.concatenate([[0.0], change])))


def known_to_unknown(
    left: Samples, whole: Samples, *, away: int, typical: float, width: int
) -> int:
    """Index from which a take no longer explains the sound: `left` of `whole`, both squares.

    The index is where the part left over stops being small. Where another sound has taken the
    place of the take, taking the take away adds as much as it has, and it is where that stops
    helping, which is the middle of a short fade. Where takes fit exactly it lies near the first
    index: farther off taking away may help by chance, as long as two voices sing in step.
    away: index known to be near. typical: part left where the take fits. width: samples (odd)
    over which the sound is brought to one level.
    """
    far = slice(away + (left.size - away) // 4, None)
    remains = 1.0 - float(np.sum(left[far])) / (float(np.sum(whole[far])) + 1e-20)
    smooth_left = moving_sum(left, width) + np.float32(1e-12)
    smooth_whole = moving_sum(whole, width) + np.float32(1e-12)
    least = max(typical, 1e-5)
    part = np.clip(smooth_left / smooth_whole, least, 1.0)
    at = _lowest(np.cumsum(np.log(part) - 0.5 * np.log(least)), away)
    if remains >= STILL_THERE:
        return at
    low, high, nearest = 0, left.size, away
    if typical <= EXACT_LEFT:  # a coded bounce leaves much over of what is soft, wherever it is
        near = MOST_FADE_WIDTHS * width
        low, high, nearest = max(0, at - near), min(left.size, at + near), at
    helped = (left - whole).astype(np.float64) / (smooth_left + smooth_whole)
    return low + _lowest(np.cumsum(helped[low:high]), nearest - low)


def _lowest(change: np.ndarray[tuple[int, ...], np.dtype[np.float64]], near: int) -> int:
    """Index of the least running sum (0: before the first), the nearest to `near` of equals."""
    whole = np.concatenate([[0.0], change])
    return int(np.argmin(whole + 1e-3 * np.abs(np.arange(whole.size) - near)))


def gain_of(bounce: Samples, moved: Samples) -> float:
    """Least-squares gain of `moved` in `bounce`."""
    energy = float(np.vdot(moved, moved))
    return float(np.vdot(moved, bounce)) / energy if energy > 0.0 else 0.0
