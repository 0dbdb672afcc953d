"""Where a piece could as well come from another take, and takes that are comps themselves.

The same recording may lie in two of the files given: a copy, or a rough comp that somebody bounced
half way. Then the sound cannot say which one the editor used, and every place that fits a piece
alike is told. Takes are compared with one another, on sound flattened by one filter: where less
than a third is left over throughout, they hold the same recording, which two performances never do.

A file in which one take goes over into another at an edit, and another, is a comp and no take: its
pieces are said to come from the takes it was made of.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from logbook.listening.candidates import COARSER, GAIN_FRAMES, Work, loudness_weight
from logbook.listening.fitting import SoundMatch, exact_lag, window_size
from logbook.listening.retracing import join_same
from logbook.listening.signals import Samples, cut, fractionally_later
from logbook.listening.standing import Standing
from logbook.listening.tracing import UNKNOWN, best_path, framed, score, spans

LOOKED_SECONDS = 3.0  # of a piece, to see whether it may be in another take
MAY_BE = 0.15  # squared correlation there of one recording, at the worst
MIGHT_BE = 0.05  # at the coarse rate, where a lag may lie half a sample off
NEAR_LAGS = 10  # low samples: what a coarse place may be off
LEAST_LEFT = 0.01
SAME_SCORE = 1.2  # less than a third is left over
SAME_SHARE = 0.93  # of a piece's sound that must be the same
LEAST_SECONDS = 0.25
SOURCE_SECONDS, JOIN_FRAMES, COMP_SHARE = 1.0, 4, 0.5
LOUD = 0.2


@dataclass(frozen=True, slots=True)
class Rival:
    """A take and exact lag (full-rate samples, from bounce to take) that fits a piece alike."""

    take: int
    lag: float


@dataclass(frozen=True, slots=True)
class Rivalry:
    """Matches with their rivals, and the takes that are comps of others."""

    matches: list[SoundMatch]
    rivals: list[tuple[Rival, ...]]
    comps: dict[int, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class _Shared:
    """Take `other` holds at `n + apart` what take `take` holds at `n` (full-rate samples)."""

    take: int
    other: int
    apart: float


def compare(
    work: Work, matches: Sequence[SoundMatch], places: Sequence[Sequence[int]], pool: Executor
) -> Rivalry:
    """Which pieces other takes fit alike, and which takes are comps of others.

    places: for every take the lags (low samples) at which it stands out of the bounce.
    """
    if len(work.takes) < 2:
        return Rivalry(list(matches), [() for _ in matches], {})
    shared = _shared(work, matches, _with_those_used(work, matches, places))
    comps = _comps(work, matches, shared, pool) if shared else {}
    out = list(matches)
    for comp, made in comps.items():
        out = _from_sources(work, out, comp, made)
    every = [*shared, *(one for made in comps.values() for one in made)]
    rivals = [_rivals(work, match, every) for match in out]
    told = {comp: tuple(sorted({one.other for one in made})) for comp, made in comps.items()}
    return Rivalry(out, rivals, told)


def _with_those_used(
    work: Work, matches: Sequence[SoundMatch], places: Sequence[Sequence[int]]
) -> list[list[int]]:
    """For every take the lags (low samples) at which it may hold a part of the bounce."""
    found = [list(lags) for lags in places]
    for m in matches:
        if m.take != UNKNOWN:
            lag = round(m.lag / work.factor)
            if all(abs(lag - other) > NEAR_LAGS for other in found[m.take]):
                found[m.take].append(lag)
    return found


def _shared(
    work: Work, matches: Sequence[SoundMatch], places: Sequence[Sequence[int]]
) -> list[_Shared]:
    """Which takes hold the same recording, as far as it is in the bounce."""
    out: list[_Shared] = []
    least = LEAST_SECONDS * work.rate
    for m in sorted(matches, key=lambda m: m.first - m.last):
        if m.take == UNKNOWN or m.last - m.first < least:
            continue
        for other, lags in enumerate(places):
            for lag in lags:
                apart = lag - m.lag / work.factor
                if other == m.take:
                    continue
                if _has(out, m.take, other, apart * work.factor, NEAR_LAGS * work.factor):
                    continue
                found = _same_there(work, m, other, apart)
                if found is not None:
                    out += [
                        _Shared(m.take, other, found),
                        _Shared(other, m.take, -found),
                    ]
        work.let_go()
    return out


def _has(shared: Sequence[_Shared], take: int, other: int, apart: float, near: float) -> bool:
    return any(
        one.take == take and one.other == other and abs(one.apart - apart) <= near for one in shared
    )


def _same_there(work: Work, match: SoundMatch, other: int, apart: float) -> float | None:
    """How far apart (full-rate samples) two takes hold the same recording; None if they do not.

    Looked at in parts of a piece, so that it is found where only a part is the same.
    """
    size = min(match.last - match.first, round(LOOKED_SECONDS * work.rate))
    steps = range(match.first, match.last - size + 1, size)
    for first in steps:
        low = (first + match.lag) // work.factor
        if not _may_hold(work, match.take, other, apart, low, size // work.factor):
            continue
        one = cut(work.low_takes[match.take], low, size // work.factor)
        reach = cut(work.low_takes[other], low + round(apart) - NEAR_LAGS, one.size + 2 * NEAR_LAGS)
        best, at = _likeness(one, reach)
        if best < MAY_BE:
            continue
        guess = (round(apart) - NEAR_LAGS + at) * work.factor
        window = window_size(work.rate) // 4
        room = max(0, size - window)
        starts = [first + match.lag + round(room * n / 7) for n in range(8)]
        exact = exact_lag(
            work.takes[match.take], work.takes[other], guess, starts, 2 * work.factor, window
        )
        same, weight = _same_frames(work, _Shared(match.take, other, exact), low, one.size)
        if float(np.sum(weight[same])) > SAME_SHARE / 2 * float(np.sum(weight)):
            return exact
    return None


def _may_hold(work: Work, take: int, other: int, apart: float, first: int, size: int) -> bool:
    """Whether a look at the coarse rate leaves it open that two takes hold the same recording.

    Of hundreds of pairs of a piece and a place hardly any is left by that.
    """
    at, wide = first // COARSER, NEAR_LAGS // COARSER + 1
    one = cut(work.coarse_takes[take], at, size // COARSER)
    reach = cut(work.coarse_takes[other], at + round(apart / COARSER) - wide, one.size + 2 * wide)
    if one.size == 0:
        return False
    found = np.correlate(reach, one)
    middle = reach[wide : wide + one.size]
    power = float(np.vdot(one, one)) * float(np.vdot(middle, middle))
    return float(np.max(found * found)) > MIGHT_BE * power


def _likeness(one: Samples, reach: Samples) -> tuple[float, int]:
    """The greatest squared correlation of `one` within `reach`, and where."""
    count = reach.size - one.size + 1
    found = np.array([float(np.vdot(reach[n : n + one.size], one)) for n in range(count)])
    first, *ends = reach[: one.size], reach[one.size :], reach[: count - 1]
    begun, over = (each.astype(np.float64) ** 2 for each in ends)
    moved = np.concatenate([[0.0], np.cumsum(begun - over)])
    power = (float(np.vdot(first, first)) + moved) * float(np.vdot(one, one)) + 1e-12
    ratio = found**2 / power
    at = int(np.argmax(ratio))
    return float(ratio[at]), at


def _same_frames(
    work: Work, shared: _Shared, first: int, size: int
) -> tuple[npt.NDArray[np.bool_], Samples]:
    """Frames in which two takes hold the same, from low sample `first` of the one, and weights."""
    one = cut(work.low_takes[shared.take], first, size)
    exact = shared.apart / work.factor
    whole = int(np.floor(exact))
    part = cut(work.low_takes[shared.other], first + whole - 8, size + 16)
    other = fractionally_later(part, exact - whole)[8 : 8 + size]
    frames = framed(one, other, 0, work.frame)
    if frames.bounce.size == 0:
        return np.zeros(0, dtype=np.bool_), np.zeros(0, dtype=np.float32)
    quiet = 1e-6 * float(np.quantile(frames.bounce, 0.95)) + 1e-12
    scores = score(frames, quiet=quiet, best=LEAST_LEFT, widths=GAIN_FRAMES)
    weight = loudness_weight(frames.bounce, quiet, round(2.0 / work.frame_seconds) | 1)
    return scores > SAME_SCORE, weight


def _rivals(work: Work, match: SoundMatch, shared: Sequence[_Shared]) -> tuple[Rival, ...]:
    """Other takes that hold the whole of a piece."""
    if match.take == UNKNOWN or match.last - match.first < 4 * work.frame * work.factor:
        return ()
    out: list[Rival] = []
    first = (match.first + match.lag) // work.factor
    size = (match.last - match.first) // work.factor
    for one in shared:
        if one.take != match.take:
            continue
        if _at(out, one.other, match.lag + one.apart, work):
            continue
        same, weight = _same_frames(work, one, first, size)
        total = float(np.sum(weight))
        if total > 0 and float(np.sum(weight[same])) >= SAME_SHARE * total:
            exact = match.exact or float(match.lag)
            out.append(Rival(one.other, exact + one.apart))
    return tuple(sorted(out, key=lambda rival: rival.take))


def _at(rivals: Sequence[Rival], take: int, lag: float, work: Work) -> bool:
    near = 1e-3 * work.rate
    return any(rival.take == take and abs(rival.lag - lag) < near for rival in rivals)


def _comps(
    work: Work, matches: Sequence[SoundMatch], shared: Sequence[_Shared], pool: Executor
) -> dict[int, list[_Shared]]:
    """Takes that are comps, with where what they hold lies in the takes they were made of."""
    partners = {one.take for one in shared}
    found: dict[int, list[_Shared]] = {}
    originals: set[int] = set()
    spans_of: dict[int, tuple[float, int, list[_Shared]]] = {}
    for take in partners:
        made = _made_of(work, take, [one for one in shared if one.take == take], pool)
        if made:
            sources, share = made
            spans_of[take] = (share, take, sources)
    # What is made of others throughout is a comp sooner than what others drew on here and there.
    for _, take, sources in sorted(spans_of.values(), key=lambda each: (-each[0], -each[1])):
        if take in originals or all(one.other in found for one in sources):
            continue
        left = [one for one in sources if one.other not in found]
        if len({one.other for one in left}) < 2:
            continue
        found[take] = left
        originals.update(one.other for one in left)
    return found


def _made_of(
    work: Work, take: int, known: Sequence[_Shared], pool: Executor
) -> tuple[list[_Shared], float] | None:
    """The takes one take was made of, and how much of it; None where it is no comp."""
    low = work.low_takes[take]
    stands = Standing(low, work.coarse_takes)
    candidates = list(known)
    whole = SoundMatch(0, work.takes[take].size, take, 0, 0)

    def look(other: int) -> list[_Shared]:
        if other == take:
            return []
        out: list[_Shared] = []
        for lag in stands.of(other):
            if _has(candidates, take, other, lag * work.factor, NEAR_LAGS * work.factor):
                continue
            exact = _same_there(work, whole, other, float(lag))
            if exact is not None:
                out.append(_Shared(take, other, exact))
        return out

    for found in pool.map(look, range(len(work.takes))):
        candidates += found
    if len({one.other for one in candidates}) < 2:
        return None
    covered, weight = [], np.zeros(0, dtype=np.float32)
    for one in candidates:
        same, weight = _same_frames(work, one, 0, low.size)
        covered.append(same)
    path = _assigned(np.stack(covered, axis=1), weight)
    runs = spans(path, len(candidates))
    least = round(SOURCE_SECONDS / work.frame_seconds)
    solid = [run for run in runs if run.state == UNKNOWN or run.last - run.first >= least]
    joined = sum(
        candidates[a.state].other != candidates[b.state].other and b.first - a.last <= JOIN_FRAMES
        for a, b in pairwise(solid)
        if UNKNOWN not in (a.state, b.state)
    )
    used = {run.state for run in solid if run.state != UNKNOWN}
    share = float(np.sum(weight[path < len(candidates)])) / (float(np.sum(weight)) + 1e-9)
    if not joined or share < COMP_SHARE or len({candidates[n].other for n in used}) < 2:
        return None
    return [candidates[n] for n in sorted(used)], share


def _assigned(covered: npt.NDArray[np.bool_], weight: Samples) -> npt.NDArray[np.int32]:
    """For every frame the place it is from, the number of places where it is from none."""
    count, places = covered.shape
    scores = np.where(covered, 1.0, -1.0).astype(np.float32) * np.minimum(weight, 1.0)[:, None]
    scores = np.column_stack([scores, np.zeros(count, dtype=np.float32)])
    entry = np.array([*[2.0] * places, 2.0], dtype=np.float32)
    return best_path(scores.astype(np.float32), entry, 2.0)


def _from_sources(
    work: Work, matches: Sequence[SoundMatch], comp: int, made: Sequence[_Shared]
) -> list[SoundMatch]:
    """The matches with pieces of a comp said to come from the takes it was made of."""
    out: list[SoundMatch] = []
    step = work.frame * work.factor
    for m in matches:
        if m.take != comp:
            out.append(m)
            continue
        first, size = (m.first + m.lag) // work.factor, (m.last - m.first) // work.factor
        same = [_same_frames(work, one, first, size) for one in made]
        if not same or same[0][1].size == 0:
            out.append(m)
            continue
        path = _assigned(np.stack([each for each, _ in same], axis=1), same[0][1])
        runs = spans(path, len(made))
        for n, run in enumerate(runs):
            a = m.first + run.first * step
            b = m.last if n == len(runs) - 1 else m.first + run.last * step
            if run.state == UNKNOWN:
                out.append(replace(m, first=a, last=b, fade=m.fade if n == 0 else 0))
                continue
            one = made[run.state]
            exact = (m.exact or float(m.lag)) + one.apart
            here = replace(m, first=a, last=b, take=one.other, lag=round(exact), exact=exact)
            out.append(replace(here, fade=m.fade if n == 0 else 0))
    return join_same(out)
