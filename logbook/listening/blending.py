"""Long crossfades: where one take goes over into the next, and for how long.

At a cut one take ends where the other begins. In a long crossfade both sound, one falling and one
rising, and either alone explains the middle badly. So both are taken together: for every start,
length and shape (straight, or of equal power) the bounce is held against the sum, and a fade is
said where that beats the best cut by far more than a choice among so many could.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from logbook.listening.candidates import Work
from logbook.listening.fitting import Channel, SoundMatch, fitted
from logbook.listening.retracing import join_same, same_place
from logbook.listening.signals import Samples, cut, fractionally_later
from logbook.listening.tracing import UNKNOWN

Floats = npt.NDArray[np.float64]

NEAR, FAR = (1.2, 0.010), (5.0, 0.040)  # seconds either side of a join, and of a frame
LONG_SECONDS = 0.8  # a fade found to last so long near by is looked at from farther off
LEAST_FADE_SECONDS = 0.06
LEAST_SIDE_SECONDS = 0.4  # of a piece, for a fade of it to be told
LONGEST_BETWEEN_SECONDS = 6.0
SURE = 40.0  # log likelihood ratio of a fade against a cut
FREEDOM_A_SECOND = 600.0  # independent values: a band of 2.7 kHz has nine times as many
CLEAN_LEFT = 0.04  # more than this is left over at a cut where something was done to the takes
WORST_LEFT, OFTEN_LEFT = 0.35, 3.0  # in the middle of a fade; and times what is left beside it
LENGTHS = 16
SHAPES = 2


@dataclass(frozen=True, slots=True)
class Fade:
    """From `start` to `start + length`, in samples of the bounce."""

    start: int
    length: int


def with_fades(
    work: Work, matches: Sequence[SoundMatch], channel: Channel | None, pool: Executor
) -> list[SoundMatch]:
    """The matches with long crossfades told, each join in its fade's middle and nothing between.

    channel: what was done to the takes, None for nothing much.
    """
    joins = _joins(work, matches)

    def look(pair: tuple[int, int]) -> Fade | None:
        return fade_between(work, matches[pair[0]], matches[pair[1]], channel)

    fades = list(pool.map(look, joins))
    out = list(matches)
    gone: set[int] = set()
    within: list[tuple[int, int]] = []
    for (a, b), fade in zip(joins, fades, strict=True):
        if fade is None:
            continue
        middle = fade.start + fade.length // 2
        around = fade.length // 4
        within.append((fade.start - around, fade.start + fade.length + around))
        if not out[a].first < middle < out[b].last:
            continue
        gone.update(range(a + 1, b))
        out[a] = replace(out[a], last=middle)
        out[b] = replace(out[b], first=middle, fade=fade.length)
    return _without_holes([m for n, m in enumerate(out) if n not in gone], within)


def _without_holes(
    matches: Sequence[SoundMatch], fades: Sequence[tuple[int, int]]
) -> list[SoundMatch]:
    """The matches without moments of unknown in a fade, where a piece goes on after it."""
    out: list[SoundMatch] = []
    for n, m in enumerate(matches):
        if m.take == UNKNOWN and 0 < n < len(matches) - 1:
            inside = any(a <= m.first and m.last <= b for a, b in fades)
            if inside and same_place(matches[n - 1], matches[n + 1]):
                out[-1] = replace(out[-1], last=m.last)
                continue
        out.append(m)
    return [replace(m, fade=f) for m, f in _joined_keeping_fades(out)]


def _joined_keeping_fades(matches: Sequence[SoundMatch]) -> list[tuple[SoundMatch, int]]:
    """Neighbours of one place made one, and the fade into each."""
    into = {m.first: m.fade for m in matches}
    return [(m, into.get(m.first, 0)) for m in join_same(matches)]


def _joins(work: Work, matches: Sequence[SoundMatch]) -> list[tuple[int, int]]:
    """Pairs of pieces that may go over into one another: neighbours, or with little between.

    Between them may be what is unknown, and scraps of the two places.
    """
    least, most = LEAST_SIDE_SECONDS * work.rate, LONGEST_BETWEEN_SECONDS * work.rate
    solid = [n for n, m in enumerate(matches) if m.take != UNKNOWN and m.last - m.first >= least]
    out = []
    for a, b in pairwise(solid):
        one, other = matches[a], matches[b]
        between = matches[a + 1 : b]
        theirs = all(
            m.take == UNKNOWN or same_place(m, one) or same_place(m, other) for m in between
        )
        if theirs and not same_place(one, other) and other.first - one.last <= most:
            out.append((a, b))
    return out


def fade_between(
    work: Work, one: SoundMatch, other: SoundMatch, channel: Channel | None
) -> Fade | None:
    """The crossfade from one piece to the next, None where they meet at a cut."""
    between = other.first - one.last
    near = between <= NEAR[0] * work.rate
    found = _looked(work, one, other, channel, *(NEAR if near else FAR))
    if near and found is not None and found.length > LONG_SECONDS * work.rate:
        found = _looked(work, one, other, channel, *FAR) or found
    return found


@dataclass(frozen=True, slots=True)
class _Sums:
    """Products frame by frame of the bounce (x) and two takes (a, b), over the bounce's energy."""

    xx: Floats
    xa: Floats
    xb: Floats
    aa: Floats
    ab: Floats
    bb: Floats


def _looked(
    work: Work,
    one: SoundMatch,
    other: SoundMatch,
    channel: Channel | None,
    around: float,
    seconds: float,
) -> Fade | None:
    frame = max(4, round(seconds * work.low_rate))
    first = max(one.first, one.last - round(around * work.rate)) // work.factor
    last = min(other.last, other.first + round(around * work.rate)) // work.factor
    count = (last - first) // frame
    if count < 16:
        return None
    join = (one.last // work.factor - first) // frame
    sums = _sums(work, one, other, None, first, frame, count)
    if channel is not None and _cut_left(sums, join) > CLEAN_LEFT * float(np.sum(sums.xx)):
        sums = _sums(work, one, other, channel, first, frame, count)
    freedom = 0.5 * FREEDOM_A_SECOND * seconds * count
    if freedom * _may_gain(sums, join) < SURE:
        return None
    found = [
        _best(sums, count, np.arange(2, count - 2, max(1, int(length / 8))), np.array([length]))
        for length in np.geomspace(1.0, count - 4.0, LENGTHS)
    ]
    cut_left = found[0][3]
    start, length, _, _ = min(found, key=lambda each: each[3])
    near_lengths = np.geomspace(max(0.5, length * 0.7), length * 1.4, 15)
    step = max(0.5, length / 32)
    near_starts = start + step * np.arange(-8, 9)
    start, length, shape, left = _best(sums, count, near_starts, near_lengths)
    sure = freedom * float(np.log(cut_left / left))
    if length * seconds < LEAST_FADE_SECONDS or sure < SURE:
        return None
    if not _both_sound(sums, start, length, shape):
        return None
    begin = round((first + start * frame) * work.factor)
    return Fade(begin, round(length * frame * work.factor))


def _sums(
    work: Work,
    one: SoundMatch,
    other: SoundMatch,
    channel: Channel | None,
    first: int,
    frame: int,
    count: int,
) -> _Sums:
    """first, frame: in low samples; `count` frames."""
    size = frame * count
    if channel is None:
        x = cut(work.low_bounce, first, size)
        a, b = (_moved(work, match, first, size) for match in (one, other))
    else:
        frame, first, size = (work.factor * each for each in (frame, first, size))
        (x, a), (_, b) = (
            fitted(
                work.bounce,
                work.takes[match.take],
                replace(match, first=first, last=first + size),
                channel,
            )
            for match in (one, other)
        )

    def framed(p: Samples, q: Samples) -> Floats:
        rows = np.einsum("ij,ij->i", p.reshape(count, frame), q.reshape(count, frame))
        return np.asarray(rows, dtype=np.float64)

    energy = framed(x, x)
    weight = 1.0 / (energy + 0.03 * float(np.mean(energy)) + 1e-12)
    return _Sums(
        weight * energy,
        weight * framed(x, a),
        weight * framed(x, b),
        weight * framed(a, a),
        weight * framed(a, b),
        weight * framed(b, b),
    )


def _moved(work: Work, match: SoundMatch, first: int, size: int) -> Samples:
    """Low samples of a match's take where it stands, to a fraction of a sample."""
    exact = (match.exact or float(match.lag)) / work.factor
    whole = int(np.floor(exact))
    part = cut(work.low_takes[match.take], first + whole - 8, size + 16)
    return fractionally_later(part, exact - whole)[8 : 8 + size]


def _gains(count: int, starts: Floats, lengths: Floats, shape: int) -> tuple[Floats, Floats]:
    """How far the first take has fallen and the second risen, starts x lengths x frames."""
    at = np.arange(count) + 0.5
    done = np.clip((at - starts[:, None, None]) / lengths[None, :, None], 0.0, 1.0)
    if shape == 0:
        return 1.0 - done, done
    return np.cos(0.5 * np.pi * done), np.sin(0.5 * np.pi * done)


def _left(sums: _Sums, fall: Floats, rise: Floats) -> tuple[Floats, Floats, Floats]:
    """What is left over at the two takes' best gains, and these gains.

    Summed over the last axis, the frames.
    """
    xa, xb = fall @ sums.xa, rise @ sums.xb
    aa, bb = fall**2 @ sums.aa, rise**2 @ sums.bb
    ab = (fall * rise) @ sums.ab
    bottom = np.maximum(aa * bb - ab**2, 1e-9 * aa * bb + 1e-12)
    one, other = (xa * bb - xb * ab) / bottom, (xb * aa - xa * ab) / bottom
    explained = one * xa + other * xb
    return float(np.sum(sums.xx)) - explained, one, other


def _cut_left(sums: _Sums, join: int) -> float:
    """What the best cut leaves over, at the gains either take has beside frame `join`."""
    count = sums.xa.size
    join = min(max(join, 4), count - 4)
    one = float(np.sum(sums.xa[:join])) / (float(np.sum(sums.aa[:join])) + 1e-12)
    other = float(np.sum(sums.xb[join:])) / (float(np.sum(sums.bb[join:])) + 1e-12)
    total = float(np.sum(sums.xx))
    before = np.cumsum(one * one * sums.aa - 2 * one * sums.xa)
    after = np.cumsum((other * other * sums.bb - 2 * other * sums.xb)[::-1])[::-1]
    return total + float(np.min(before[:-1] + after[1:]))


def _may_gain(sums: _Sums, join: int) -> float:
    """Logarithm of what a cut near frame `join` leaves over what free gains of both takes leave.

    No fade can leave less than these: where they gain nothing none need be looked for.
    """
    total = float(np.sum(sums.xx))
    cut_left = _cut_left(sums, join)
    xa, xb, aa, ab, bb = (
        ndimage.uniform_filter1d(each, 3) for each in (sums.xa, sums.xb, sums.aa, sums.ab, sums.bb)
    )
    bottom = np.maximum(aa * bb - ab**2, 1e-6 * aa * bb + 1e-12)
    a, b = (xa * bb - xb * ab) / bottom, (xb * aa - xa * ab) / bottom
    free = total - float(np.sum(a * xa + b * xb))
    return float(np.log(max(cut_left, 1e-9) / max(free, 1e-4 * total + 1e-12)))


def _best(
    sums: _Sums, count: int, starts: npt.NDArray[np.number], lengths: Floats
) -> tuple[float, float, int, float]:
    """Start, length (frames) and shape that leave least, and how much that is."""
    found: list[tuple[float, float, float, int]] = []
    at = np.asarray(starts, dtype=np.float64)
    least = 1e-4 * float(np.sum(sums.xx))
    for shape in range(SHAPES):
        fall, rise = _gains(count, at, lengths, shape)
        left, one, other = _left(sums, fall, rise)
        left = np.where((one != 0) & (other != 0), np.maximum(left, least), np.inf)
        # A fade may not hang over what is looked at.
        ends = at[:, None] + lengths[None, :]
        left = np.where((ends <= count - 1) & (at[:, None] >= 1), left, np.inf)
        row, column = np.unravel_index(int(np.argmin(left)), left.shape)
        found.append((float(left[row, column]), float(at[row]), float(lengths[column]), shape))
    left_over, start, length, shape = min(found)
    return start, length, shape, left_over


def _both_sound(sums: _Sums, start: float, length: float, shape: int) -> bool:
    """Whether the two together explain the middle of a fade about as well as each its own side."""
    count = sums.xa.size
    fall, rise = (
        gains[0, 0] for gains in _gains(count, np.array([start]), np.array([length]), shape)
    )
    _, one, other = _left(sums, fall, rise)
    a, b = float(one) * fall, float(other) * rise
    left = sums.xx - 2 * (a * sums.xa + b * sums.xb) + a * a * sums.aa + b * b * sums.bb
    left += 2 * a * b * sums.ab
    at = np.arange(count) + 0.5
    inside = (at > start) & (at < start + length)

    def part(here: npt.NDArray[np.bool_]) -> float:
        return float(np.sum(left[here])) / (float(np.sum(sums.xx[here])) + 1e-9)

    return part(inside) < min(WORST_LEFT, OFTEN_LEFT * max(part(~inside), 0.05))
