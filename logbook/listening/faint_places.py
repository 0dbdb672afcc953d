"""Where takes may stand in what is unknown: the lags at which blocks of it together stand out."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from itertools import pairwise

import numpy as np

from logbook.listening.candidates import Work
from logbook.listening.flattening import HOP_SECONDS, Sounds
from logbook.listening.homes import playing_home
from logbook.listening.homing import Home
from logbook.listening.searching import TakeIndex

PART_SECONDS = 30.0  # held in memory at once
SHORTEST = 70  # frames
BLOCK_SECONDS, MOST_BLOCKS = 4.0, 24
MOST_PLACES, MOST_HOMES = 3, 30  # of a take, and of all together
LONG_SECONDS = 90.0
PEAK_BEYOND = 3.5  # standard deviations: what a block must show at a lag for it to count


def parts_of(
    sounds: Sounds, wanted: Sequence[tuple[float, float]], rate: float
) -> list[tuple[int, int]]:
    """The stretches (seconds) as ranges of frames (`rate` a second), none too long."""
    out: list[tuple[int, int]] = []
    most = round(PART_SECONDS * rate)
    for start, end in wanted:
        first, last = max(0, round(start * rate)), min(sounds.frames, round(end * rate))
        count = max(1, -(-(last - first) // most))
        edges = [first + (last - first) * n // count for n in range(count + 1)]
        out += [(a, b) for a, b in pairwise(edges) if b - a > SHORTEST]
    return out


def homes_of(
    work: Work,
    sounds: Sounds,
    frames: Sequence[tuple[int, int]],
    known: Sequence[tuple[int, int]],
    places: Sequence[Sequence[int]],
    pool: Executor,
) -> list[Home]:
    """Where each take may stand: known lags, where strokes lie, and what blocks say together.

    The blocks of long takes are not looked up: the bounce as a whole says where they stand.
    """
    starts = _blocks(sounds, frames)

    def look(take: int) -> list[Home]:
        lags = [round(lag / work.factor) for number, lag in known if number == take]
        if work.low_takes[take].size > LONG_SECONDS * work.low_rate:
            lags += [
                playing_home(work.low_bounce, work.low_takes[take], work.low_rate),
                *places[take],
            ]
        else:
            lags += _stands(sounds, take, starts)
        if not lags:
            lags = [playing_home(work.low_bounce, work.low_takes[take], work.low_rate)]
        work.let_go()
        kept: list[int] = []
        for lag in lags:
            if all(abs(lag - other) > sounds.reach // 2 for other in kept):
                kept.append(lag)
        return [Home(take, lag) for lag in kept[:MOST_PLACES]]

    homes = list(pool.map(look, range(len(work.low_takes))))
    # The likeliest of every take before the second of any.
    ranked = [each[n] for n in range(MOST_PLACES) for each in homes if n < len(each)]
    return ranked[:MOST_HOMES]


def _blocks(sounds: Sounds, frames: Sequence[tuple[int, int]]) -> list[int]:
    """Starts (frames) of blocks inside the ranges, at most so many, spread evenly."""
    block = round(BLOCK_SECONDS / HOP_SECONDS)
    starts = [
        at
        for first, last in frames
        for at in range(first, max(first + 1, last - block // 2), block)
    ]
    every = -(-len(starts) // MOST_BLOCKS)
    return starts[:: max(1, every)]


def _stands(sounds: Sounds, take: int, starts: Sequence[int]) -> list[int]:
    """The lags (low-rate samples) at which most blocks together stand out of a take."""
    block = round(BLOCK_SECONDS * sounds.rate / 2)
    flat = sounds.of_take(take, 0, sounds.takes[take].size)[::2]
    index = TakeIndex(flat, block)
    total: dict[int, float] = {}
    for start in starts:
        first = start * sounds.hop
        part = sounds.of_bounce(first, 2 * block)[::2]
        found = index.correlate(np.ascontiguousarray(part))
        level = float(np.sqrt(np.mean(np.minimum(found * found, 9 * np.median(found * found)))))
        if level == 0.0:
            continue
        for _ in range(6):
            at = int(np.argmax(np.abs(found)))
            high = abs(float(found[at])) / level
            if high < PEAK_BEYOND:
                break
            lag = 2 * (at - (block - 1)) - first
            total[lag] = total.get(lag, 0.0) + (high - PEAK_BEYOND) ** 2
            found[max(0, at - 6) : at + 7] = 0.0
    out: list[tuple[float, int]] = []
    near = round(0.03 * sounds.rate)
    for lag in sorted(total, key=lambda each: -total[each]):
        if all(abs(lag - other) > near for _, other in out):
            out.append((sum(v for k, v in total.items() if abs(k - lag) <= 4), lag))
    out.sort(reverse=True)
    return [lag for worth, lag in out[:MOST_PLACES] if worth > 0.3 * out[0][0]]
