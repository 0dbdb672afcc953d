"""A tempo map laid through beats that were heard: one tempo where it holds, glides where not.

A glide is a ramp as `logbook.timing.tempo_map` has it: linear in musical time, so that the time to
reach a share x of it is T ln(1 + (r - 1) x) / ln r, where r is its last tempo over its first and T
its length in seconds. The map is the one with the fewest stretches, each one tempo or one glide,
that keeps every beat within `TOLERANCE_S` of the pulse heard as far as the playing allows
(dynamic programming over the beats). Stretches begin on bar lines where that costs nothing.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from scipy import ndimage

from logbook.listening.extra import ListeningError
from logbook.listening.onsets import Floats
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter
from logbook.timing.stretches import MeterAt, Ramp, TempoAt
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

TOLERANCE_S = 0.010
STEADY_S = 0.011  # how far the mean of some beats may be off one tempo
LONGEST = 48  # beats of one stretch
TEMPO_COST, GLIDE_COST, OFF_BAR_COST = 1.0, 1.5, 0.6
OVER_COST = 8.0  # of a stretch twice as far off as it may be
RATIOS = np.exp(np.linspace(-0.9, 0.9, 73))


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardMap:
    """A tempo map laid through beats.

    start_s: seconds in the file at which the map begins. steady: whether it is one tempo.
    worst_s, usual_s: how far 19 in 20 beats are off the map at most, and the middle one, seconds.
    points: where each beat stands in the map.
    """

    tempo_map: TempoMap
    start_s: float
    steady: bool
    worst_s: float
    usual_s: float
    points: tuple[BarPoint, ...]


def lay_map(
    times: Sequence[float] | Floats, downbeat: int, meter: Meter, eased: Floats | None = None
) -> HeardMap:
    """Lay a map through beats.

    times: seconds of the meter's felt beats, rising. downbeat: index of the first that begins a
    full bar; those before it are a pick-up. eased: the same beats without the hand's scatter,
    through which a map that glides is laid (None: the beats themselves). Raises
    ListeningError for fewer than two beats, or beats that do not rise.
    """
    heard = np.asarray(times, dtype=np.float64)
    if heard.size < 2 or np.any(np.diff(heard) <= 0.0):
        raise ListeningError(f"{heard.size} beats make no tempo", "give at least two, in order")
    unit = meter.felt_beat_length
    a_bar = max(1, int(meter.bar_length / unit))
    before = downbeat % a_bar
    # Where the first full bar comes late, the bars before it are counted too.
    first = before
    steady = _steady(heard)
    if steady is not None:
        start, length = steady
        bpm = _simple_bpm(heard, start, 60.0 / length)
        edges, tempos = [before, max(heard.size - 1, before + 1)], [(bpm, bpm)]
        zero = float(np.median(heard - 60.0 / bpm * np.arange(heard.size)))
    else:
        smooth = heard if eased is None else eased
        edges, tempos = _stretches(smooth, first, a_bar)
        zero = float(smooth[0])
    tempo_map = _as_map(edges, tempos, meter, before, a_bar)
    wholes = [unit * index for index in range(heard.size)]
    laid = zero + np.array([float(tempo_map.seconds_at_wholes(each)) for each in wholes])
    late = float(np.median(heard - laid))
    away = np.abs(heard - laid - late)
    return HeardMap(
        tempo_map=tempo_map,
        start_s=zero + late,
        steady=steady is not None,
        worst_s=float(np.quantile(away, 0.95)),
        usual_s=float(np.median(away)),
        points=tuple(tempo_map.point_at(each) for each in wholes),
    )


def _steady(heard: Floats) -> tuple[float, float] | None:
    """Start and length of the beat where one tempo holds throughout, else None."""
    count = np.arange(heard.size)
    weight = np.ones(heard.size)
    length, start = 0.0, 0.0
    for _ in range(4):
        length, start = np.polyfit(count, heard, 1, w=weight)
        away = heard - start - length * count
        weight = 1.0 / np.maximum(np.abs(away), 0.008)
    usual = ndimage.uniform_filter1d(ndimage.median_filter(away, 3, mode="nearest"), 5)
    holds = np.max(np.abs(usual)) < STEADY_S and np.quantile(np.abs(away), 0.9) < 0.025
    return (float(start), float(length)) if holds else None


def _simple_bpm(heard: Floats, start: float, bpm: float) -> float:
    """The tempo with the fewest digits that stays as near to the beats."""
    middle = (heard.size - 1) / 2
    for digits in (0, 1, 2, 3):
        simple = round(bpm, digits)
        if simple and abs(60.0 / simple - 60.0 / bpm) * middle < 0.006:
            return simple
    return round(bpm, 4)


def _stretches(
    smooth: Floats, first: int, a_bar: int
) -> tuple[list[int], list[tuple[float, float]]]:
    """Edges (indices of beats) and each stretch's first and last tempo, beats a minute."""
    count = smooth.size
    cost = np.full(count, np.inf)
    cost[0] = 0.0
    back = np.zeros(count, dtype=int)
    ratio = np.ones(count)
    for length in range(1, min(LONGEST, count - 1) + 1):
        shapes[length] = _shapes(length)
    for end in range(1, count):
        off_bar = 0.0 if (end - first) % a_bar == 0 or end == count - 1 else OFF_BAR_COST
        for length in range(1, min(LONGEST, end) + 1):
            start = end - length
            here, found = _cost(smooth[start : end + 1])
            total = cost[start] + here + off_bar
            if total < cost[end]:
                cost[end], back[end], ratio[end] = total, start, found
    edges = [count - 1]
    while edges[-1] > 0:
        edges.append(int(back[edges[-1]]))
    edges.reverse()
    tempos = []
    for start, end in itertools.pairwise(edges):
        r = float(ratio[end])
        mean = 60.0 * (end - start) / float(smooth[end] - smooth[start])
        # The mean of a glide in musical time is (r - 1) / ln r times its first tempo.
        low = mean if abs(r - 1.0) < 1e-9 else mean * np.log(r) / (r - 1.0)
        tempos.append((round(float(low), 2), round(float(low * r), 2)))
    return edges, tempos


shapes: dict[int, Floats] = {}
"""By length in beats: the share of the time each ratio of `RATIOS` has passed at each beat."""


def _shapes(length: int) -> Floats:
    """Share of a glide's time passed at each of its beats, ratios x beats."""
    if length not in shapes:
        share = np.arange(length + 1) / length
        slope = RATIOS[:, None] - 1.0
        with np.errstate(divide="ignore", invalid="ignore"):
            bent = np.log1p(slope * share) / np.log(RATIOS)[:, None]
        shapes[length] = np.where(np.abs(slope) < 1e-9, share, bent)
    return shapes[length]


def _cost(beats: Floats) -> tuple[float, float]:
    """What a stretch costs, and its last tempo over its first: 1 where one tempo does."""
    length, start, end = beats.size - 1, float(beats[0]), float(beats[-1])
    even = start + (end - start) * np.arange(length + 1) / length
    flat = float(np.max(np.abs(beats[1:-1] - even[1:-1]), initial=0.0)) / TOLERANCE_S
    plain = TEMPO_COST + _over(flat)
    if length < 2 or plain <= GLIDE_COST:
        return plain, 1.0
    away = beats[None, 1:-1] - (start + (end - start) * _shapes(length)[:, 1:-1])
    squares = np.sum(away**2, axis=1)
    best = int(np.argmin(squares))
    bent = GLIDE_COST + _over(float(np.max(np.abs(away[best]))) / TOLERANCE_S)
    return (bent, float(RATIOS[best])) if bent < plain else (plain, 1.0)


def _over(share: float) -> float:
    return 0.1 * share if share <= 1.0 else 0.1 + OVER_COST * (share - 1.0)


def _as_map(
    edges: Sequence[int],
    tempos: Sequence[tuple[float, float]],
    meter: Meter,
    before: int,
    a_bar: int,
) -> TempoMap:
    unit = meter.felt_beat_length
    pickup = before * unit

    def point(index: int) -> BarPoint:
        bare = TempoMap(
            meters=(MeterAt(1, meter),),
            tempos=(TempoAt(BarPoint(1), Tempo(Fraction(100), unit)),),
            pickup=pickup,
        )
        return bare.point_at(index * unit)

    changes: list[TempoAt] = []
    for number, (low, high) in enumerate(tempos):
        start, end = point(edges[number]), point(edges[number + 1])
        slow = Tempo(Fraction(str(low)), unit)
        if low == high:
            before_it = changes[-1] if changes else None
            same = before_it and before_it.ramp is None and before_it.tempo == slow
            if not same:
                changes.append(TempoAt(start, slow))
        else:
            changes.append(TempoAt(start, slow, Ramp(end, Tempo(Fraction(str(high)), unit))))
    return TempoMap(meters=(MeterAt(1, meter),), tempos=tuple(changes), pickup=pickup)
