"""Pieces that keep in step with their take over seconds, though little of their sound is its own.

Under other instruments, in a hall, behind an amplifier that is driven hard, no frame of the bounce
fits its take well. Yet the take's phases stay in it at one lag: what correlates a little there does
so with the same sign frame after frame, while another performance agrees at a lag and with a sign
of its own for every note. So correlations of flattened sound (see homing) are averaged over a
second and more before they are judged, against what all other lags show in the same time. Half of
a window must bear out the other: one stroke alone is no step that is kept.

A lag that holds at several times is cheap to enter again; a new one costs the logarithm of how
many were tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy import ndimage

from logbook.listening.candidates import Work
from logbook.listening.faint_places import homes_of, parts_of
from logbook.listening.fitting import exact_lag
from logbook.listening.flattening import HOP_SECONDS, Sounds
from logbook.listening.homing import Frames, Home
from logbook.listening.likeliest import likeliest_states
from logbook.listening.signals import Samples
from logbook.listening.sureness import of_step

LEAST_SECONDS = 1.5  # of what is unknown
WINDOW_SECONDS = 1.2
REACH_SECONDS = 0.025  # either side of where a take stands
EVERY_LAG = 12  # of those kept to say what is usual
LAGS_KEPT = 12  # of a place
NEAR_SAMPLES = 3  # low-rate samples within which lags are one
USUAL_Z = 2.6  # a window's mean over its deviation that a place must pass to be better than none
ENTRY = 2.0  # less than a gap of a second costs: what is missing between two pieces is no piece
NEW_Z, KNOWN_Z = 5.0, 3.6  # of a whole run, at a lag found here alone, and at one in use elsewhere
# The same over the highest of the other lags: ringing strings of another performance reach 2.2,
# what is in step 3 and more.
HIGHEST, NEW_LONE, KNOWN_LONE = 0.98, 2.7, 2.0
HELD_SHARE = 0.6  # of a run's half seconds that must bear it out
LEAST_RUN_SECONDS = 0.7
SAME_SOURCE_SECONDS = 0.002


@dataclass(frozen=True, slots=True)
class Faint:
    """Seconds `start` to `end` of the bounce hold `take` at `source`, faintly.

    part: mean correlation with the take, 0 to 1. sure: standard deviations it stands out by.
    """

    start: float
    end: float
    take: int
    source: float
    part: float
    sure: float
    inverted: bool

    @property
    def believed(self) -> float:
        """How sure to be of one that stands out so far, 0 to 1."""
        return of_step(self.sure)


@dataclass(frozen=True, slots=True)
class _FaintRun:
    """Frames `first` to `last` (exclusive) at a state."""

    first: int
    last: int
    state: int
    z: float
    part: float


def faintly(
    work: Work,
    unknown: Sequence[tuple[float, float]],
    known: Sequence[tuple[int, int]],
    places: Sequence[Sequence[int]],
    pool: Executor,
) -> list[Faint]:
    """What can be said of the unknown stretches (seconds), in order.

    known: takes and lags (full-rate samples) in use elsewhere; places: for every take the lags
    (low samples) at which it stands out of the bounce.
    """
    wanted = [(a, b) for a, b in unknown if b - a >= LEAST_SECONDS]
    if not wanted:
        return []
    sounds = Sounds(work.low_bounce, work.low_takes, work.low_rate, 0.0)
    sounds.reach = round(REACH_SECONDS * work.low_rate)
    frames = parts_of(sounds, wanted, work.rate / (sounds.hop * work.factor))
    homes = homes_of(work, sounds, frames, known, places, pool)
    if not homes:
        return []
    out: list[Faint] = []
    tables = [_FaintTable.made(sounds, homes, first, last, pool) for first, last in frames]
    used: dict[tuple[int, int], float] = {}
    for _ in range(2):
        runs = [table.runs(used) for table in tables]
        used = {}
        for table, found in zip(tables, runs, strict=True):
            for run in found:
                place = table.place(run.state)
                used[place] = used.get(place, 0.0) + run.z**2
    for table, found in zip(tables, runs, strict=True):
        out += _said(work, sounds, table, found)
    return _joined(out)


@dataclass(slots=True)
class _FaintTable:
    """What a range of frames shows: frames from `first` on.

    states: homes and columns (lags from -reach on) worth following. columns: the correlations of
    each, frames x states; z: their means over a window, over what is usual in it. others: the
    correlations at some of all lags, frames x lags. weight: how far each frame sounds.
    """

    first: int
    homes: Sequence[Home]
    reach: int
    weight: Samples
    states: list[tuple[int, int]]
    columns: Samples
    z: Samples
    others: Samples

    @classmethod
    def made(
        cls, sounds: Sounds, homes: Sequence[Home], first: int, last: int, pool: Executor
    ) -> _FaintTable:
        """The table of a range."""
        weight = sounds.weight[first:last][:, None]
        width = round(WINDOW_SECONDS / HOP_SECONDS)
        frames = Frames(sounds, first, last)

        def some(home: Home) -> tuple[Samples, list[int], Samples, Samples]:
            raw = frames.correlations(home) * weight
            held = _held(raw, width)
            lags = _best_lags(np.abs(held), _usual(_mean(raw[:, ::3], width)))
            return raw[:, ::EVERY_LAG].copy(), lags, raw[:, lags], held[:, lags]

        found = list(pool.map(some, homes))
        others = np.concatenate([each[0] for each in found], axis=1)
        level = _usual(_mean(others, width))
        states = [(n, lag) for n, each in enumerate(found) for lag in each[1]]
        columns = np.concatenate([each[2] for each in found], axis=1)
        z = np.concatenate([each[3] for each in found], axis=1)
        z /= level[:, None]
        return cls(first, homes, sounds.reach, weight[:, 0], states, columns, z, others)

    def place(self, state: int) -> tuple[int, int]:
        """Take and lag (low-rate samples) of a state."""
        home, column = self.states[state]
        return self.homes[home].take, self.homes[home].lag + column - self.reach

    def runs(self, used: dict[tuple[int, int], float]) -> list[_FaintRun]:
        """The likeliest runs, those believed. used: evidence of places, from the round before."""
        width = round(WINDOW_SECONDS / HOP_SECONDS)
        gain = (self.z**2 - USUAL_Z**2) / (2 * width)
        price = np.append(np.full(len(self.states), ENTRY), 0.0)
        path = likeliest_states(np.column_stack([gain, np.zeros(len(gain))]), price)
        edges = np.flatnonzero(np.diff(path)) + 1
        bounds = [0, *edges.tolist(), path.size]
        out: list[_FaintRun] = []
        for a, b in pairwise(bounds):
            if path[a] == len(self.states) or b - a < LEAST_RUN_SECONDS / HOP_SECONDS:
                continue
            state = int(path[a])
            z, part, held, lone = self._stands_out(state, a, b)
            at_home = _near(used, self.place(state)) - z**2 > NEW_Z**2
            least, alone = (KNOWN_Z, KNOWN_LONE) if at_home else (NEW_Z, NEW_LONE)
            if abs(z) > least and lone > alone and held >= HELD_SHARE:
                out.append(_FaintRun(a, b, state, z, part))
        return out

    def _stands_out(self, state: int, first: int, last: int) -> tuple[float, float, float, float]:
        """A run's mean correlation over what other lags show, itself, how far it holds.

        Last how far it is above the highest few of the other lags.
        """
        means = np.mean(self.others[first:last], axis=0)
        level = float(np.median(np.abs(means))) / 0.6745 + 1e-9
        own = self.columns[first:last, state]
        mean = float(np.mean(own))
        half = max(1, round((last - first) * HOP_SECONDS / 0.5))
        parts = [np.mean(p) for p in np.array_split(own, half)]
        held = float(np.mean(np.array(parts) * np.sign(mean) > 0.4 * abs(mean)))
        sounding = float(np.mean(self.weight[first:last])) + 1e-9
        lone = abs(mean) / (float(np.quantile(np.abs(means), HIGHEST)) + 1e-9)
        return mean / level, abs(mean) / sounding, held, lone


def _mean(raw: Samples, width: int) -> Samples:
    return np.asarray(ndimage.uniform_filter1d(raw, width, axis=0, mode="nearest"))


def _held(raw: Samples, width: int) -> Samples:
    """Means over a window about each frame, brought down to what its weaker half bears out."""
    whole, half = _mean(raw, width), _mean(raw, width // 2)
    quarter = width // 4
    before = np.concatenate([np.repeat(half[:1], quarter, axis=0), half[:-quarter]])
    after = np.concatenate([half[quarter:], np.repeat(half[-1:], quarter, axis=0)])
    sign = np.sign(whole)
    weaker = np.minimum(before * sign, after * sign)
    return np.asarray(sign * np.minimum(np.abs(whole), np.maximum(2.0 * weaker, 0.0)))


def _usual(means: Samples) -> Samples:
    """At every frame the deviation of the means over all lags."""
    return np.asarray(np.median(np.abs(means), axis=1) / 0.6745 + 1e-4, dtype=np.float32)


def _best_lags(held: Samples, level: Samples) -> list[int]:
    """Columns that stand out of what is usual at some time, the best first."""
    worth = np.sum(np.maximum(held / level[:, None] - USUAL_Z, 0.0) ** 2, axis=0)
    out: list[int] = []
    for _ in range(LAGS_KEPT):
        at = int(np.argmax(worth))
        if worth[at] <= 0.0:
            break
        out.append(at)
        worth[max(0, at - NEAR_SAMPLES) : at + NEAR_SAMPLES + 1] = 0.0
    return out


def _near(used: dict[tuple[int, int], float], place: tuple[int, int]) -> float:
    take, lag = place
    return sum(
        worth
        for (other, at), worth in used.items()
        if other == take and abs(at - lag) <= NEAR_SAMPLES
    )


def _said(
    work: Work,
    sounds: Sounds,
    table: _FaintTable,
    runs: Sequence[_FaintRun],
) -> list[Faint]:
    """The runs as seconds, each at its exact lag, edges where the evidence turns."""
    bounds = [_trimmed(table, run) for run in runs]
    for n in range(len(runs)):
        here = runs[n]
        if n + 1 < len(runs) and runs[n + 1].first - here.last < WINDOW_SECONDS / HOP_SECONDS / 2:
            at = _turn(table, here, runs[n + 1])
            bounds[n][1] = bounds[n + 1][0] = at
    out = []
    for run, (first, last) in zip(runs, bounds, strict=True):
        take, lag = table.place(run.state)
        low = table.first + first
        start, end = low * sounds.hop * work.factor, (table.first + last) * sounds.hop * work.factor
        full = _exact(work, take, lag * work.factor, start, end)
        source = (start + full) / work.rate
        begin = start / work.rate
        if source < 0.0:
            begin, source = begin - source, 0.0
        out.append(Faint(begin, end / work.rate, take, source, run.part, abs(run.z), run.z < 0))
    return out


def _trimmed(table: _FaintTable, run: _FaintRun) -> list[int]:
    """A run's first and last frame (exclusive), where the evidence itself begins and ends."""
    own = table.columns[run.first : run.last, run.state] * np.sign(run.z)
    gained = np.concatenate([[0.0], np.cumsum(own - 0.5 * run.part)])
    reach = min(round(WINDOW_SECONDS / HOP_SECONDS / 2), own.size // 3)
    first = int(np.argmin(gained[: reach + 1])) if run.first else 0
    last = own.size - reach + int(np.argmax(gained[own.size - reach :]))
    if run.last == len(table.weight):
        last = own.size
    return [run.first + first, run.first + last]


def _joined(found: Sequence[Faint]) -> list[Faint]:
    """Those that go on from one part to the next made one."""
    out: list[Faint] = []
    for one in found:
        old = out[-1] if out else None
        if (
            old is not None
            and old.take == one.take
            and one.start - old.end < WINDOW_SECONDS / 2
            and abs(one.source - one.start - old.source + old.start) < SAME_SOURCE_SECONDS
        ):
            longer = max(old, one, key=lambda each: each.end - each.start)
            source = longer.source - longer.start + old.start
            out[-1] = replace(longer, start=old.start, end=one.end, source=max(0.0, source))
        else:
            out.append(one)
    return out


def _turn(table: _FaintTable, one: _FaintRun, other: _FaintRun) -> int:
    """The frame at which the first of two runs gives way to the second."""
    reach = round(WINDOW_SECONDS / HOP_SECONDS / 2)
    a = max(one.first + 1, min(one.last, other.first) - reach)
    b = min(other.last - 1, max(one.last, other.first) + reach)
    if b <= a:
        return one.last
    sums = []
    for run in (one, other):
        here = table.columns[a:b, run.state] * np.sign(run.z)
        # The likelihood of a mean of that height against none, frame by frame.
        sums.append(run.part * (here - 0.5 * run.part))
    gained = np.concatenate([[0.0], np.cumsum(sums[0] - sums[1])])
    return a + int(np.argmax(gained))


def _exact(work: Work, take: int, lag: int, first: int, last: int) -> float:
    size = 1 << int(np.log2(max(512, work.rate // 8)))
    room = max(0, last - first - size)
    count = max(3, min(40, 2 * room // size + 1))
    starts = [first + round(room * n / (count - 1)) for n in range(count)]
    return exact_lag(work.bounce, work.takes[take], lag, starts, 2 * work.factor, size)
