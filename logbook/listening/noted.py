"""Pieces known by their notes alone, where a take was processed until its samples no longer agree.

An amplifier, a chorus, a hall, a piece that was stretched or tuned: the take cannot be subtracted,
but its notes still begin where they began and are as loud beside one another. So the bounce's
onsets are paired with every take's, and from note to note it is asked how much likelier the step
between the two gaps, and between the two levels, is a copy's than another performance's (see
copies). Stretches up to 3 % are tried as takes of their own, and so are levels that say nothing,
as behind an amplifier that plays everything equally loud. The likeliest sequence is kept where
it beats nothing known by more than the logarithm of how often it could have begun by chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from logbook.listening.candidates import Work
from logbook.listening.copies import mutual
from logbook.listening.noted_pieces import LEAST_SECONDS, NotedStretch, joined
from logbook.listening.onsets import Floats, onset_curve, onsets
from logbook.listening.pitches import aligned, pitch_frames
from logbook.listening.signals import Samples
from logbook.listening.tuning import read_tuning

AROUND_SECONDS = 8.0  # of it, in files much longer
MOST_STRETCH, STRETCH_STEP = 0.03, 0.0025
# Scales of a copy's steps (Laplace), of a performance's (logarithmic normal, and normal), and how
# often a note of a copy is misheard: read from the performances and copies of copies.
COPIED_MS, PLAYED_MS, PLAYED_SPREAD = 0.8, 6.0, 1.2
COPIED_LOUD, PLAYED_LOUD = 0.08, 0.65
MISHEARD, MISHEARD_MS, MISHEARD_LOUD = 0.08, 60.0, 2.0
UNPAIRED = -1.5
SURE = 9.0  # beside the logarithm of the number of beginnings tried: one in ten thousand
LEAST_NOTES = 6
AGREES_MS = 2.5
BEFORE_SECONDS = 0.015  # an onset is heard that long after the edit before it
LEAST_TUNED_SECONDS, AS_CLEAR, LEAST_CENTS = 2.5, 0.8, 3.0


@dataclass(frozen=True, slots=True)
class _Paired:
    """For each onset of the bounce: the gap to a take's (seconds; NaN where none) and its level."""

    gaps: Floats
    loud: Floats


def by_notes(
    work: Work,
    unknown: Sequence[tuple[float, float]],
    homes: Sequence[int],
    pool: Executor,
) -> list[NotedStretch]:
    """What can be said of the unknown stretches of a bounce (seconds), in order.

    homes: the lag of every take (low samples) at which it is likeliest to stand. Of long files
    only what lies around the stretches is listened to.
    """
    wanted = [(start, end) for start, end in joined(unknown) if end - start >= LEAST_SECONDS]
    out: list[NotedStretch] = []
    groups: list[list[tuple[float, float]]] = []
    for stretch in wanted:
        if not groups or stretch[0] - groups[-1][-1][1] > 2 * AROUND_SECONDS:
            groups.append([])
        groups[-1].append(stretch)
    length = work.bounce.size / work.rate
    for group in groups:
        first = max(0.0, group[0][0] - AROUND_SECONDS)
        last = min(length, group[-1][1] + AROUND_SECONDS)
        begin = round(first * work.rate)
        bounce = work.bounce[begin : round(last * work.rate)]
        at = begin / work.rate
        parts = [
            _part_of(take, begin + home * work.factor, bounce.size, work.rate)
            for take, home in zip(work.takes, homes, strict=True)
        ]
        inside = [(max(0.0, a - at), b - at) for a, b in group]
        for one in _by_notes(work, bounce, [part for part, _ in parts], inside, pool):
            later = parts[one.take][1] / work.rate
            moved = replace(one, start=one.start + at, end=one.end + at, source=one.source + later)
            out.append(moved)
    return out


def _part_of(take: Samples, first: int, count: int, rate: int) -> tuple[Samples, int]:
    """The part of a take around `count` samples from `first` on, and where it begins in it."""
    around = round(AROUND_SECONDS * rate)
    if take.size < count + 4 * around:
        return take, 0
    begin = min(max(0, first - around), take.size - count - 2 * around)
    return take[begin : begin + count + 2 * around], begin


def _by_notes(
    work: Work,
    bounce: Samples,
    takes: Sequence[Samples],
    wanted: Sequence[tuple[float, float]],
    pool: Executor,
) -> list[NotedStretch]:
    rate = work.rate
    curve = onset_curve(bounce, rate)
    times, loud = onsets(curve)
    if sum(int(np.sum((times >= a) & (times < b))) for a, b in wanted) < LEAST_NOTES:
        return []
    frames = pitch_frames(bounce, rate)

    def pair(take: Samples) -> _Paired:
        other = onset_curve(take, rate)
        theirs, strength = onsets(other)
        gaps, level = np.full((2, times.size), np.nan)
        if theirs.size:
            offset, _ = aligned((other, curve), (pitch_frames(take, rate), frames))
            at, to = mutual(theirs + offset, times)
            gaps[to] = times[to] - theirs[at]
            level[to] = np.log(strength[at])
        work.let_go()
        return _Paired(gaps, level)

    paired = list(pool.map(pair, takes))
    out: list[NotedStretch] = []
    for start, end in wanted:
        inside = np.flatnonzero((times >= start) & (times < end))
        if inside.size < LEAST_NOTES:
            continue
        notes = slice(int(inside[0]), int(inside[-1]) + 1)
        found = _runs(times[notes], np.log(loud[notes]), [_part(each, notes) for each in paired])
        out += _said((start, end), times[notes], found, bounce, takes, rate)
    return out


def _part(paired: _Paired, notes: slice) -> _Paired:
    return _Paired(paired.gaps[notes], paired.loud[notes])


@dataclass(frozen=True, slots=True)
class _Run:
    """Notes `first` to `last` (inclusive) of a take: the line of its gaps, and what agrees."""

    first: int
    last: int
    take: int
    slope: float
    gap: float  # at the first note
    agreed: float


def _evidence(times: Floats, paired: _Paired, slope: float) -> Floats:
    """Log likelihood ratio of every note's place against the one before it."""
    step = 1000.0 * np.abs(np.diff(paired.gaps) - slope * np.diff(times)) + 0.02
    copied = (1 - MISHEARD) / COPIED_MS * np.exp(-step / COPIED_MS) + MISHEARD / MISHEARD_MS
    away = np.log(step / PLAYED_MS) / PLAYED_SPREAD
    played = np.exp(-0.5 * away**2) / (step * PLAYED_SPREAD * np.sqrt(2 * np.pi))
    ratio = np.log(copied / (played + MISHEARD / MISHEARD_MS))
    return np.asarray(np.where(np.isnan(ratio), UNPAIRED, ratio), dtype=np.float64)


def _as_loud(loud: Floats, paired: _Paired) -> Floats:
    """The same of its level."""
    level = np.abs(np.diff(loud - paired.loud))
    alike = (1 - MISHEARD) / COPIED_LOUD * np.exp(-level / COPIED_LOUD) + MISHEARD / MISHEARD_LOUD
    other = 2 / PLAYED_LOUD / np.sqrt(2 * np.pi) * np.exp(-0.5 * (level / PLAYED_LOUD) ** 2)
    ratio = np.log(alike / (other + MISHEARD / MISHEARD_LOUD))
    return np.asarray(np.where(np.isnan(ratio), 0.0, ratio), dtype=np.float64)


def _runs(times: Floats, loud: Floats, paired: Sequence[_Paired]) -> list[_Run]:
    slopes = np.arange(-MOST_STRETCH, MOST_STRETCH + 1e-9, STRETCH_STEP)
    states = [(take, float(slope)) for take in range(len(paired)) for slope in slopes]
    places = np.stack([_evidence(times, paired[t], s) for t, s in states], axis=1)
    levels = np.stack([_as_loud(loud, paired[t]) for t, _ in states], axis=1)
    table = np.concatenate([places + levels, places], axis=1)
    states = [*states, *states]
    dearer = float(np.log(len(slopes)))
    begun = SURE + float(np.log(2 * times.size * len(paired)))
    price = np.array([begun + (0.0 if abs(s) < STRETCH_STEP / 2 else dearer) for _, s in states])
    return [
        _fitted_run(first, last, states[state][0], times, paired)
        for first, last, state in _path(table, price)
        if last - first + 1 >= LEAST_NOTES
    ]


def _path(table: Floats, price: Floats) -> list[tuple[int, int, int]]:
    """Runs (first and last note, state) of the greatest sum; to begin one costs its price.

    The step into a run's first note comes from elsewhere and says nothing.
    """
    steps, states = table.shape
    nothing, total = 0.0, -price
    came_nothing = np.full(steps + 1, -1)
    came = np.zeros((steps + 1, states), dtype=bool)  # whether a run goes on
    starts = np.full(steps + 1, -1)
    for n in range(1, steps + 1):
        going = total + table[n - 1]
        best = int(np.argmax(total))
        from_best = float(total[best])
        before = max(nothing, from_best)
        starts[n] = best if from_best > nothing else -1
        came_nothing[n] = starts[n]
        began = before - price
        came[n] = going >= began
        total = np.where(came[n], going, began)
        nothing = before
    out: list[tuple[int, int, int]] = []
    state = int(np.argmax(total)) if float(np.max(total)) > nothing else -1
    n = last = steps
    while n >= 0:
        if state < 0:
            state, n = int(came_nothing[n]), n - 1
            last = n
        elif n == 0 or not came[n][state]:
            out.append((n, last, state))
            state, n = int(starts[n]), n - 1
            last = n
        else:
            n -= 1
    return out[::-1]


def _fitted_run(first: int, last: int, take: int, times: Floats, paired: Sequence[_Paired]) -> _Run:
    gaps, at = paired[take].gaps[first : last + 1], times[first : last + 1]
    use = ~np.isnan(gaps)
    line = np.polyfit(at[use], gaps[use], 1)
    for _ in range(3):
        away = np.abs(gaps - np.polyval(line, at))
        near = use & (away <= max(float(np.nanmedian(away)) * 2.0, 3e-4))
        if np.sum(near) < 4:
            break
        line = np.polyfit(at[near], gaps[near], 1)
    away = np.abs(gaps - np.polyval(line, at))[use]
    error = (float(np.median(away)) / 0.6745 + 1e-4) / (
        float(np.std(at[use])) * np.sqrt(np.sum(use)) + 1e-9
    )
    slope = float(line[0]) if abs(line[0]) > 4 * error else 0.0
    middle = float(np.polyval(line, np.mean(at))) if slope == 0.0 else 0.0
    gap = middle if slope == 0.0 else float(np.polyval(line, at[0]))
    agreed = float(np.mean(away < AGREES_MS / 1000)) * float(np.mean(use))
    return _Run(first, last, take, slope, gap, agreed)


def _said(
    unknown: tuple[float, float],
    times: Floats,
    runs: Sequence[_Run],
    bounce: Samples,
    takes: Sequence[Samples],
    rate: int,
) -> list[NotedStretch]:
    """The runs as stretches of the bounce: each up to the next, the outer ones to the ends."""
    out: list[NotedStretch] = []
    for n, run in enumerate(runs):
        start = unknown[0] if run.first == 0 else float(times[run.first]) - BEFORE_SECONDS
        follows = n + 1 < len(runs) and runs[n + 1].first == run.last + 1
        end = unknown[1]
        if run.last + 1 < times.size:
            end = float(times[run.last + 1]) - BEFORE_SECONDS
        elif follows:
            end = float(times[runs[n + 1].first]) - BEFORE_SECONDS
        gap = run.gap + run.slope * (start - float(times[run.first]))
        stretch = 1.0 / (1.0 - run.slope)
        source = start - gap
        # Before a take begins there is nothing of it.
        if source < 0.0:
            start, source = start - source * stretch, 0.0
        length = end - start
        cents = 0.0
        if length >= LEAST_TUNED_SECONDS:
            heard = bounce[round(start * rate) : round(end * rate)]
            played = takes[run.take][round(source * rate) : round((source + length) * rate)]
            cents = _sharp(heard, played, rate)
        if length > 0.0:
            out.append(NotedStretch(start, end, run.take, source, stretch, cents, run.agreed))
    return out


def _sharp(heard: Samples, played: Samples, rate: int) -> float:
    one, other = read_tuning(played, rate), read_tuning(heard, rate)
    if one is None or other is None or other.clear < AS_CLEAR * one.clear:
        return 0.0
    cents = (other.cents - one.cents + 50.0) % 100.0 - 50.0
    return cents if abs(cents) >= LEAST_CENTS else 0.0
