"""Punch-ins inside one file: where the room's noise jumps and ringing notes break off.

Under and between notes a recording falls to the noise of its room, its preamp and its cable, which
keeps its level in every band as long as nothing is changed. Bands in which that floor is truly
reached on both sides of a place, because the quietest frames there lie close together, are held
against each other. A jump in several bands at once that no music explains is an edge: what was
recorded over was recorded on another day, another gain, another microphone. A ringing sound that
ends within a few milliseconds in all bands at once was cut, since a hand damps more slowly and the
strings one by one. Where two edges lead away from a floor and back to it, what lies between them
was punched in. In a room that was the same on both days, what rings tells: it goes on from
somewhere else (breaking).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.breaking import MARGIN_S, RingBreak, find_breaks
from logbook.listening.onsets import Floats
from logbook.listening.signals import Samples

Whole = npt.NDArray[np.intp]

WINDOW_S, HOP_S = 0.023, 0.0115
BANDS = 10
LOWEST_HZ = 300.0
SIDE_S, STEP_S = 2.5, 0.25
LOW_BANDS = 4  # where music is
DIES_DB, SILENCE_DB = 5.0, 40.0
OFTEN = 0.2  # of a take's places in which a band must reach its floor
CROWD_DB, LEAST_PLACES, MOST_LEVELS = 0.8, 4, 4
ON_FLOOR_DB, CHANGE_COST = 1.5, 30.0
FLOOR, ABOVE = 0.08, 0.22  # quantiles of a band's frames that stand for its floor
REACHED_DB = 2.0  # how close these two lie where the floor is one
LEAST_BANDS = 2
JUMP_DB, SURE_DB = 3.5, 7.0
SILENT_DB = -130.0  # digital silence is no room
CUT_DB, CUT_S, CUT_BANDS = 14.0, 0.012, 5
CUT_HOP_S, CUT_FRAMES, EVEN_DB = 0.002, 10, 2.0
ENDS_S = 0.15  # of the file, where nothing can be told
AUDIBLE_DB = -50.0  # of the loudest: quieter sound that ends is nothing
NEAR_S = 0.6


@dataclass(frozen=True, kw_only=True, slots=True)
class Edge:
    """A place where something was cut: seconds, from and to which it may lie, and how sure.

    jump_db: by how much the room's noise rises there, 0 where it is not known to; broken: whether
    a sound breaks off there; leaps: whether what rings goes on there from somewhere else.
    """

    at_s: float
    from_s: float
    to_s: float
    jump_db: float
    broken: bool
    sure: float
    leaps: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPunch:
    """What was recorded over, seconds of the file, and how sure that is (0 to 1)."""

    start: Edge
    end: Edge | None
    sure: float


def find_punches(samples: Samples, rate: int) -> tuple[HeardPunch, ...]:
    """What was punched in, in order; an edge without a second one has no end."""
    jumps, cuts, breaks = _jumps(samples, rate), _cuts(samples, rate), find_breaks(samples, rate)
    edges = [_with_break(_with_cut(jump, cuts), breaks) for jump in jumps]
    out: list[HeardPunch] = []
    at = 0
    while at < len(edges):
        edge = edges[at]
        other = edges[at + 1] if at + 1 < len(edges) else None
        back = other is not None and _leads_back(edge, other)
        sure = edge.sure if other is None or not back else 1 - (1 - edge.sure) * (1 - other.sure)
        out.append(HeardPunch(start=edge, end=other if back else None, sure=min(0.99, sure)))
        at += 2 if back else 1
    near = [(each.from_s - NEAR_S, each.to_s + NEAR_S) for each in edges]
    for cut in cuts:
        if not any(low <= cut <= high for low, high in near):
            alone = Edge(
                at_s=cut, from_s=cut - CUT_S, to_s=cut + CUT_S, jump_db=0.0, broken=True, sure=0.5
            )
            out.append(HeardPunch(start=alone, end=None, sure=alone.sure))
            near.append((cut - NEAR_S, cut + NEAR_S))
    out += _leaping([b for b in breaks if not any(low <= b.at_s <= high for low, high in near)])
    return tuple(sorted(out, key=lambda each: each.start.at_s))


def _leaping(breaks: Sequence[RingBreak]) -> list[HeardPunch]:
    """Breaks alone as punch-ins: two of them are where one begins and ends, more are edits each."""
    edges = [
        Edge(
            at_s=b.at_s,
            from_s=b.at_s - MARGIN_S,
            to_s=b.at_s + MARGIN_S,
            jump_db=0.0,
            broken=False,
            sure=b.sure,
            leaps=True,
        )
        for b in breaks
    ]
    if len(edges) == 2:
        start, end = edges
        return [HeardPunch(start=start, end=end, sure=round(start.sure * end.sure, 3))]
    return [HeardPunch(start=each, end=None, sure=each.sure) for each in edges]


def _leads_back(edge: Edge, other: Edge) -> bool:
    """Whether the noise is the same again after two edges."""
    return edge.jump_db * other.jump_db < 0 and abs(edge.jump_db + other.jump_db) < max(
        2.0, 0.35 * abs(edge.jump_db)
    )


def _bands(samples: Samples, rate: int) -> Floats:
    """Power of frames in bands, decibels, frames x bands."""
    size, hop = round(WINDOW_S * rate), max(1, round(HOP_S * rate))
    if samples.size < 2 * size:
        return np.empty((0, BANDS))
    window = np.hanning(size).astype(np.float32)
    edges = np.geomspace(LOWEST_HZ, 0.46 * rate, BANDS + 1)
    at = np.round(edges * size / rate).astype(int)
    at = np.maximum.accumulate(np.maximum(at, np.arange(BANDS + 1) * 2 + at[0]))
    view = np.lib.stride_tricks.sliding_window_view(samples, size)[::hop]
    out = np.empty((len(view), BANDS))
    for first in range(0, len(view), 2048):
        spectrum = fft.rfft(view[first : first + 2048] * window, axis=1)
        power = spectrum.real**2 + spectrum.imag**2
        for band in range(BANDS):
            out[first : first + 2048, band] = np.mean(power[:, at[band] : at[band + 1]], axis=1)
    return np.asarray(10 * np.log10(out / size + 1e-16), dtype=np.float64)


def _jumps(samples: Samples, rate: int) -> list[Edge]:
    """Edges at which the floor jumps."""
    level = _bands(samples, rate)
    floors, bands = _floors(level)
    levels = _levels(floors)
    if len(levels) < 2:
        return []
    heard = np.mean(level[:, bands], axis=1)
    state = _followed(heard, levels)
    on_floor = np.abs(heard - levels[state]) < ON_FLOOR_DB
    edges = []
    for at in np.flatnonzero(np.diff(state)) + 1:
        jump = float(levels[state[at]] - levels[state[at - 1]])
        before, after = np.flatnonzero(on_floor[:at]), np.flatnonzero(on_floor[at:])
        low = float(before[-1] + 1) * HOP_S if before.size else 0.0
        high = float(at + after[0] + 1) * HOP_S if after.size else float(at) * HOP_S
        sure = float(np.clip(0.6 + 0.35 * (abs(jump) - JUMP_DB) / (SURE_DB - JUMP_DB), 0.5, 0.95))
        edges.append(
            Edge(
                at_s=0.5 * (low + high),
                from_s=low,
                to_s=max(low, high),
                jump_db=jump,
                broken=False,
                sure=sure,
            )
        )
    return edges


def _floors(level: Floats) -> tuple[Floats, Whole]:
    """The mean floor, decibels, around places in which one is reached, and in which bands."""
    side, step = round(SIDE_S / HOP_S / 2), round(STEP_S / HOP_S)
    places = range(side, max(side, len(level) - side), step)
    music = np.max(level[:, :LOW_BANDS], axis=1) if len(level) else np.empty(0)
    loud = float(np.quantile(music, 0.9)) if music.size else 0.0
    lows, reached = [], []
    for at in places:
        part, below = level[at - side : at + side], music[at - side : at + side]
        low, high = np.quantile(part, (FLOOR, ABOVE), axis=0)
        lows.append(low)
        good = (high - low < REACHED_DB) & (low > SILENT_DB)
        for band in np.flatnonzero(good):
            under = below[part[:, band] < high[band]]
            # A floor stays while the music above it dies away, or shows when there is none.
            dies = float(np.ptp(np.quantile(under, (0.1, 0.9)))) > DIES_DB
            good[band] = dies or float(np.median(under)) < loud - SILENCE_DB
        reached.append(good)
    if not lows:
        return np.empty(0), np.empty(0, dtype=np.intp)
    share = np.mean(reached, axis=0)
    bands = np.flatnonzero(share >= max(OFTEN, 0.7 * float(np.max(share))))
    if bands.size < LEAST_BANDS:
        return np.empty(0), bands
    use = np.all(np.array(reached)[:, bands], axis=1)
    return np.mean(np.array(lows)[:, bands], axis=1)[use], bands


def _levels(floors: Floats) -> Floats:
    """The levels at which floors crowd, decibels; the most usual first."""
    left = floors
    found: list[float] = []
    while left.size >= LEAST_PLACES:
        count = np.sum(np.abs(left[:, None] - left[None, :]) < CROWD_DB, axis=1)
        top = int(np.argmax(count))
        if count[top] < max(LEAST_PLACES, 0.04 * floors.size):
            break
        level = float(np.median(left[np.abs(left - left[top]) < CROWD_DB]))
        if all(abs(level - other) >= JUMP_DB for other in found):
            found.append(level)
        left = left[np.abs(left - level) >= CROWD_DB]
    return np.array(found[:MOST_LEVELS])


def _followed(heard: Floats, levels: Floats) -> Whole:
    """Which of the levels the floor stands at in every frame: the path that seldom changes."""
    away = heard[:, None] - levels[None, :]
    cost = np.where(away < -ON_FLOOR_DB, 6.0, np.where(away <= ON_FLOOR_DB, -1.0, 0.0))
    # Sound that only passes through a level on its way down does not lie on it.
    cost += np.where((away > ON_FLOOR_DB) & (away <= 3 * ON_FLOOR_DB), 0.6, 0.0)
    total = cost[0]
    back = np.zeros(cost.shape, dtype=np.intp)
    for row in range(1, len(cost)):
        best = int(np.argmin(total))
        change = total[best] + CHANGE_COST < total
        back[row] = np.where(change, best, np.arange(levels.size))
        total = cost[row] + np.where(change, total[best] + CHANGE_COST, total)
    state = np.zeros(len(cost), dtype=np.intp)
    state[-1] = int(np.argmin(total))
    for row in range(len(cost) - 1, 0, -1):
        state[row - 1] = back[row][state[row]]
    return state


def _cuts(samples: Samples, rate: int) -> list[float]:
    """Seconds at which a sound breaks off within milliseconds in all its bands."""
    hop = max(1, round(CUT_HOP_S * rate))
    count = samples.size // hop
    if count < 100:
        return []
    level = np.stack(
        [
            10 * np.log10(np.mean(band[: count * hop].reshape(count, hop) ** 2, axis=1) + 1e-14)
            for band in _octaves(samples, rate)
        ],
        axis=1,
    )
    smooth = np.stack([np.convolve(each, np.full(5, 0.2), mode="same") for each in level.T]).T
    early, before, after = (
        smooth[: -2 * CUT_FRAMES],
        smooth[CUT_FRAMES:-CUT_FRAMES],
        smooth[2 * CUT_FRAMES :],
    )
    loud = before > np.max(smooth, axis=0) + AUDIBLE_DB
    # Only what rang on evenly until then can be cut: a stroke that dies at once is none.
    held = (before - after >= CUT_DB) & loud & (np.abs(early - before) < EVEN_DB)
    out: list[float] = []
    for place in np.flatnonzero(np.sum(held, axis=1) >= min(CUT_BANDS, level.shape[1] - 1)):
        at = (place + 1.5 * CUT_FRAMES) * CUT_HOP_S
        inside = ENDS_S < at < samples.size / rate - ENDS_S
        if inside and (not out or at - out[-1] > 0.1):
            out.append(float(at))
    return out


def _octaves(samples: Samples, rate: int) -> list[Floats]:
    """The sound in bands an octave wide from 125 Hz, each by a short transform's worth of bins."""
    spectrum = fft.rfft(samples.astype(np.float64))
    hertz = fft.rfftfreq(samples.size, 1 / rate)
    out = []
    for low in 125.0 * 2.0 ** np.arange(7):
        if 2 * low > 0.48 * rate:
            break
        edge = np.clip((hertz - 0.7 * low) / (0.3 * low), 0, 1)
        edge *= np.clip((2.6 * low - hertz) / (0.6 * low), 0, 1)
        out.append(fft.irfft(spectrum * edge, samples.size))
    return out


def _with_break(edge: Edge, breaks: Sequence[RingBreak]) -> Edge:
    """The edge at the place where what rings goes on from somewhere else, if it does near it."""
    near = [b for b in breaks if edge.from_s - NEAR_S / 4 <= b.at_s <= edge.to_s + NEAR_S / 4]
    if not near or edge.broken:
        return edge
    best = max(near, key=lambda b: b.sure)
    return replace(
        edge,
        at_s=best.at_s,
        from_s=best.at_s - MARGIN_S,
        to_s=best.at_s + MARGIN_S,
        sure=min(0.98, 1.0 - (1.0 - edge.sure) * (1.0 - best.sure)),
        leaps=True,
    )


def _with_cut(edge: Edge, cuts: list[float]) -> Edge:
    """The edge at the place where a sound breaks off, if one does within its reach."""
    near = [cut for cut in cuts if edge.from_s - NEAR_S / 4 <= cut <= edge.to_s + NEAR_S / 4]
    if not near:
        return edge
    at = min(near, key=lambda cut: abs(cut - edge.at_s))
    return Edge(
        at_s=at,
        from_s=at - CUT_S,
        to_s=at + CUT_S,
        jump_db=edge.jump_db,
        broken=True,
        sure=min(0.98, edge.sure + 0.25),
    )
