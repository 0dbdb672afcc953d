"""The tempo of every bar, held against a map: one rushed bar as well as a slow drift.

Onsets are given to places of the map's grid by following several guesses at once (a beam): from
bar to bar a player keeps the tempo, or changes it at a price. What is left is a list of places and
times, and through it goes the simplest bent line that explains them: it bends where the tempo
changes from one bar on, or in one or two bars only, or is a parabola for a steady drift. A bend is
put in where it takes away more than chance would with so many bars to choose from, judged by how
the onsets scatter, and taken out again where the others make it needless. The slope over a bar is
the bar's tempo; because a line through all neighbours holds both its ends, one bar's tempo is known
far better than its own few onsets would tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.listening.onsets import Floats
from logbook.listening.tempo import BarReading

Whole = npt.NDArray[np.intp]

CHANGES = (0.0, 0.0025, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.06, 0.08, 0.1, 0.12)
CHANGE_COST, CHANGE_SLOPE = 0.6, 6.0  # of a change of speed, in steps of the grid that fit
FIT_S, CURVE_S, BEST_GUESSES = 0.014, 0.002, 160
LATE_CELL_S, SPEED_CELL = 0.006, 0.003
NUDGES_S = (-0.012, 0.0, 0.012)
NEAR = 0.35  # of a grid step within which an onset belongs to it, at most
MOST_NEAR_S = 0.06
LEAST_ONSETS = 6
LEAST_SCATTER_S = 0.001
BEND_TIMES = 2.6  # of the logarithm of the number of places it could be put
FEW = 24  # onsets: of so few the scatter is hardly known, and a bend costs twice as much
MOST_BENDS = 24
HUBER = 2.5


@dataclass(frozen=True, slots=True)
class BarGrid:
    """Bars of a map: numbers, map seconds at which each begins and one more, steps, and tempos."""

    bars: Sequence[int]
    starts_s: Sequence[float]
    steps: Sequence[int]
    bpm: Sequence[float]

    def places(self, n: int) -> Floats:
        """Map seconds of the steps of bar number n of the list."""
        first, last = self.starts_s[n], self.starts_s[n + 1]
        return np.linspace(first, last, self.steps[n], endpoint=False) - self.starts_s[0]


@dataclass(frozen=True, slots=True)
class PlacedOnsets:
    """Onsets given to places of the grid: map seconds from the first bar, and file seconds."""

    place_s: Floats
    time_s: Floats
    weight: Floats
    step: Whole


def place_onsets(
    times: Floats, strengths: Floats, grid: BarGrid, first_at_s: float | None = None
) -> PlacedOnsets:
    """Give onsets (seconds, strengths) to places of the grid.

    first_at_s: where the first bar begins in the file, None for the first onset.
    """
    empty = PlacedOnsets(np.empty(0), np.empty(0), np.empty(0), np.empty(0, dtype=np.intp))
    if times.size == 0:
        return empty
    weights = np.sqrt(strengths / (np.median(strengths) + 1e-20)).clip(0.2, 2.0)
    begins = float(times[0]) if first_at_s is None else first_at_s
    path = _path(times, weights, grid, begins)
    found: list[tuple[float, float, float, int]] = []
    for n, (late, speed) in enumerate(path):
        place = grid.places(n)
        step_s = (grid.starts_s[n + 1] - grid.starts_s[n]) / grid.steps[n]
        expected = begins + place[0] + late + (place - place[0]) * speed
        near = min(NEAR * step_s, MOST_NEAR_S)
        for number, at in enumerate(expected):
            first, last = np.searchsorted(times, (at - near, at + near))
            if first < last:
                # Of two onsets near one place the loud one is meant, unless it lies far off.
                worth = weights[first:last] - np.abs(times[first:last] - at) / near
                best = first + int(np.argmax(worth))
                found.append((float(place[number]), float(times[best]), weights[best], number))
    if not found:
        return empty
    place_s, time_s, weight, step = (np.array(each) for each in zip(*found, strict=True))
    return PlacedOnsets(place_s, time_s, weight, step.astype(np.intp))


def _path(
    times: Floats, weights: Floats, grid: BarGrid, begins: float
) -> list[tuple[float, float]]:
    """For each bar how late it begins (seconds), and its length against the map's."""
    spread = np.array([0.0, *(s * c for c in CHANGES[1:] for s in (-1, 1))])
    cost = np.where(spread == 0.0, 0.0, CHANGE_COST + CHANGE_SLOPE * np.abs(spread))
    nudges = np.array(NUDGES_S)
    late, speed, score = np.array([-0.03, 0.0, 0.03]), np.ones(3), np.zeros(3)
    curve = _curve(times, weights, float(times[-1]) + 3 * FIT_S)
    back: list[tuple[Whole, Floats, Floats]] = []
    for n in range(len(grid.bars)):
        place = grid.places(n)
        inside = place - place[0]
        length = grid.starts_s[n + 1] - grid.starts_s[n]
        # guesses x speeds x nudges
        fast = np.broadcast_to(
            (speed[:, None] * (1.0 + spread[None, :]))[:, :, None],
            (speed.size, spread.size, nudges.size),
        ).ravel()
        at = np.broadcast_to(
            late[:, None, None] + nudges, (speed.size, spread.size, nudges.size)
        ).ravel()
        worth = (score[:, None] - cost[None, :])[:, :, None] - 8.0 * np.abs(nudges)
        expected = begins + place[0] + at[:, None] + inside[None, :] * fast[:, None]
        row = np.clip(np.round(expected / CURVE_S), 0, curve.size - 1).astype(np.intp)
        total = worth.ravel() + np.sum(curve[row], axis=1)
        end = at + length * (fast - 1.0)
        order = np.argsort(-total)
        cells = np.stack([np.round(end / LATE_CELL_S), np.round(fast / SPEED_CELL)])
        _, first = np.unique(cells[:, order], axis=1, return_index=True)
        keep = order[np.sort(first)[:BEST_GUESSES]]
        back.append((keep // (spread.size * nudges.size), at[keep], fast[keep]))
        late, speed, score = end[keep], fast[keep], total[keep]
    best = int(np.argmax(score)) if back else 0
    out: list[tuple[float, float]] = []
    for came, at, fast in reversed(back):
        out.append((float(at[best]), float(fast[best])))
        best = int(came[best])
    return out[::-1]


def _curve(times: Floats, weights: Floats, seconds: float) -> Floats:
    """How well every moment, `CURVE_S` apart, meets an onset: 0 to its weight."""
    out = np.zeros(max(1, int(seconds / CURVE_S)) + 2)
    reach = int(3 * FIT_S / CURVE_S)
    for time, weight in zip(times, weights, strict=True):
        middle = round(float(time) / CURVE_S)
        at = np.arange(max(0, middle - reach), min(out.size, middle + reach + 1))
        fit = weight * np.exp(-0.5 * ((at * CURVE_S - time) / FIT_S) ** 2)
        out[at] = np.maximum(out[at], fit)
    return out


@dataclass(frozen=True, slots=True)
class BentLine:
    """How late onsets are along the map: `late` seconds at bar edges, and what they scatter by.

    covariance: of `late`, seconds squared.
    """

    late: Floats
    covariance: Floats
    scatter_s: float


def bend(placed: PlacedOnsets, edges_s: Floats) -> BentLine | None:
    """The simplest bent line through placed onsets; None where they are too few.

    edges_s: map seconds of the bars' beginnings and the last one's end, from the first on.
    """
    x, y = placed.place_s, placed.time_s - placed.place_s
    if x.size < LEAST_ONSETS:
        return None
    atoms = _atoms(x, edges_s)
    at_edges = _atoms(edges_s, edges_s)
    weight = np.ones(x.size)
    scatter = _scatter(placed)
    # Swing, and a strum that is slower on some strokes, are no lateness of the bar.
    y = y - _by_step(placed, y)
    chosen: list[int] = []
    price = 2.0 * BEND_TIMES * np.log(max(4.0, atoms.shape[1])) * (1.0 + FEW / x.size)
    for _ in range(3):
        chosen = _chosen(atoms, y, weight, scatter, price)
        fit, _ = _solved(atoms[:, [0, 1, *chosen]], y, weight)
        left = y - atoms[:, [0, 1, *chosen]] @ fit
        scatter = max(LEAST_SCATTER_S, 1.4826 * float(np.median(np.abs(left))))
        weight = np.minimum(1.0, HUBER * scatter / (np.abs(left) + 1e-12))
    use = [0, 1, *chosen]
    fit, inverse = _solved(atoms[:, use], y, weight)
    basis = at_edges[:, use]
    return BentLine(basis @ fit, scatter**2 * basis @ inverse @ basis.T, scatter)


def _atoms(x: Floats, edges: Floats) -> Floats:
    """What a bent line is made of: level, slope, bends at bar lines, single bars, glides."""
    hinges = np.maximum(0.0, x[:, None] - edges[None, :-1])
    inner = hinges[:, 1:]
    ones = hinges[:, 1:-1] - hinges[:, 2:] if edges.size > 3 else np.empty((x.size, 0))
    twos = hinges[:, 1:-2] - hinges[:, 3:] if edges.size > 4 else np.empty((x.size, 0))
    whole = max(1e-6, float(edges[-1]))
    curve = (x / whole)[:, None] ** 2 * whole
    glides = inner[:, ::2] ** 2 / whole
    return np.concatenate(
        [np.ones((x.size, 1)), x[:, None], curve, inner, glides, ones, twos], axis=1
    )


def _solved(basis: Floats, y: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Weighted least squares, and the inverse of its normal matrix."""
    normal = basis.T @ (weight[:, None] * basis)
    inverse: Floats = np.asarray(np.linalg.pinv(normal, hermitian=True), dtype=np.float64)
    return np.asarray(inverse @ (basis.T @ (weight * y)), dtype=np.float64), inverse


def _chosen(atoms: Floats, y: Floats, weight: Floats, scatter: float, price: float) -> list[int]:
    """Columns of the atoms that are worth their price, put in one by one, and out again."""
    root = np.sqrt(weight)
    scaled, target = atoms * root[:, None], y * root
    chosen: list[int] = []
    while len(chosen) < MOST_BENDS:
        q, _ = np.linalg.qr(scaled[:, [0, 1, *chosen]])
        rest = scaled - q @ (q.T @ scaled)
        left = target - q @ (q.T @ target)
        size = np.sum(rest * rest, axis=0)
        gain = np.where(
            size > 1e-6 * np.sum(scaled * scaled, axis=0), (rest.T @ left) ** 2 / (size + 1e-20), 0
        )
        best = int(np.argmax(gain))
        if gain[best] < price * scatter**2:
            break
        chosen.append(best)
        chosen = _needed(scaled, target, chosen, price * scatter**2)
        if best not in chosen:
            break
    return chosen


def _needed(scaled: Floats, target: Floats, chosen: list[int], price: float) -> list[int]:
    """The columns without which more would be left over than their price."""
    kept = list(chosen)
    while len(kept) > 1:
        whole = _left(scaled[:, [0, 1, *kept]], target)
        without = [
            _left(scaled[:, [0, 1, *(k for k in kept if k != each)]], target) - whole
            for each in kept
        ]
        least = int(np.argmin(without))
        if without[least] >= price:
            break
        kept.pop(least)
    return kept


def _left(basis: Floats, target: Floats) -> float:
    q, _ = np.linalg.qr(basis)
    rest = target - q @ (q.T @ target)
    return float(rest @ rest)


def _scatter(placed: PlacedOnsets) -> float:
    """How far onsets lie from their neighbours, seconds: their scatter without any tempo."""
    late = placed.time_s - placed.place_s
    bends = late[1:-1] - 0.5 * (late[:-2] + late[2:])
    if bends.size == 0:
        return LEAST_SCATTER_S
    usual = 1.4826 * float(np.median(np.abs(bends))) / float(np.sqrt(1.5))
    return max(LEAST_SCATTER_S, usual)


def _by_step(placed: PlacedOnsets, late: Floats) -> Floats:
    """How late each place of a bar usually is beside its neighbours, seconds."""
    out = np.zeros(late.size)
    if late.size < 5:
        return out
    beside = late.copy()
    beside[1:-1] -= 0.5 * (late[:-2] + late[2:])
    beside[[0, -1]] = 0.0
    for parity in (0, 1):
        mine = placed.step % 2 == parity
        if np.sum(mine) >= LEAST_ONSETS:
            out[mine] = 0.5 * float(np.median(beside[mine]))
    return out


def read_bars(placed: PlacedOnsets, grid: BarGrid) -> list[BarReading]:
    """Each bar's tempo, for the bars between the first and the last in which a note begins."""
    if placed.place_s.size < LEAST_ONSETS:
        return []
    edges = np.asarray(grid.starts_s, dtype=np.float64) - grid.starts_s[0]
    first = int(np.searchsorted(edges, placed.place_s[0] + 1e-6)) - 1
    last = int(np.searchsorted(edges, placed.place_s[-1] + 1e-6))
    shifted = PlacedOnsets(placed.place_s - edges[first], placed.time_s, placed.weight, placed.step)
    line = bend(shifted, edges[first : last + 1] - edges[first])
    if line is None:
        return []
    out = []
    for n in range(first, last):
        length = edges[n + 1] - edges[n]
        a, b = n - first, n - first + 1
        speed = 1.0 + float(line.late[b] - line.late[a]) / length
        spread = line.covariance[a, a] + line.covariance[b, b] - 2 * line.covariance[a, b]
        error = float(np.sqrt(max(0.0, float(spread)))) / length
        out.append(
            BarReading(
                bar=grid.bars[n],
                bpm=grid.bpm[n] / speed,
                late_ms=1000.0 * float(line.late[a] - line.late[0]),
                error_bpm=grid.bpm[n] * error / speed**2,
            )
        )
    return out
