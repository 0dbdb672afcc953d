"""Short pieces and small shifts: the take and lag followed in time, frame by frame, near home.

Most pieces of a comp stand where they were played, or a few milliseconds from there. So for every
10 ms the bounce is held against every take at all lags within 45 ms of that take's home, on sound
whose spectrum is flattened as it goes (so that what lies between the partials counts as much as
they do: another performance of the same notes has the partials, but not that).

The evidence of a frame for a lag is one likelihood ratio: how much likelier the sound is as the
take's, at a free gain, than as something of no relation. What no relation looks like is read from
the frame itself, off all the lags tried: where notes repeat themselves every lag fits a little,
and then a fit says less. Entering a place costs the logarithm of the number of lags that could
have been entered, so nothing is found by trying often.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.believing import FrameReading, believed, likely
from logbook.listening.flattening import Floats, Sounds
from logbook.listening.likeliest import likeliest_states
from logbook.listening.odds import likelihood_ratio
from logbook.listening.signals import filtered

OVERLAP = 0.5  # of a frame's evidence is not in its neighbours
CHANGE_COST = 6.0  # beside the logarithm of the number of places
STEP_COST = 4.0  # to go on one sample later or earlier in the take
MOST_FREEDOM = 400.0
MOST_VALUES = 1 << 23  # scores held at once
MOST_STATES = 400
KEPT_A_FRAME = 3
AT_ONCE, AROUND = 64, 256  # frames
LEAST_POWER = 1e-3  # of the loudest frame of the bounce around: less of a take is nothing
LEAST_EVIDENCE = 4.0
LEAST_UNKNOWN, UNKNOWN_SHARE = 1.0, 0.3  # evidence a frame of a place must beat
UNKNOWN_PRICE = 6.0
PRIOR_FRAMES = 60.0
LOUD_WEIGHT = 0.5
LEAST_USUAL = 0.6  # where no take is known: what a take should fit with


_BESIDE = np.arange(-3, 3) + 0.5
_SINC = np.sinc(_BESIDE) * np.cos(np.pi * _BESIDE / 7) ** 2
HALF = (_SINC / np.sum(_SINC)).astype(np.float32)  # taps that read half a sample later


@dataclass(frozen=True, slots=True)
class Home:
    """A take and the lag (low-rate samples, take time minus bounce time) it mostly stands at."""

    take: int
    lag: int


@dataclass(frozen=True, slots=True)
class TrackedSpan:
    """Frames `first` to `last` (exclusive) come from `take` at `lag`, low-rate samples.

    take: -1 where nothing fits. evidence: summed log likelihood ratio over the price of entering;
    fit: mean correlation with the take, 0 to 1.
    """

    first: int
    last: int
    take: int
    lag: int
    evidence: float
    fit: float


class Frames:
    """Frames `first` to `last` (exclusive) of the bounce, ready to be held against takes."""

    def __init__(self, flat: Sounds, first: int, last: int) -> None:
        self.flat = flat
        self.count = last - first
        size = flat.window.size
        self.begin = first * flat.hop + flat.hop // 2 - size // 2
        self.samples = (self.count - 1) * flat.hop + size
        self.length = int(fft.next_fast_len(size + 2 * flat.reach, real=True))
        sound = flat.of_bounce(self.begin, self.samples)
        rows = np.lib.stride_tricks.sliding_window_view(sound, size)[:: flat.hop]
        weighted = rows * flat.window
        self.power = np.einsum("ij,ij->i", rows, weighted)
        self.spectra = np.conj(fft.rfft(weighted, self.length))

    def correlations(self, home: Home) -> Floats:
        """Correlation of bounce and take, frames x lags from -reach to reach about the home."""
        flat, size, reach = self.flat, self.flat.window.size, self.flat.reach
        x = flat.of_take(home.take, self.begin + home.lag - reach, self.samples + 2 * reach)
        rows = np.lib.stride_tricks.sliding_window_view(x, size + 2 * reach)[:: flat.hop]
        # The power under a window depends on where in the take it lies alone.
        power = filtered(x * x, flat.window)[(size - 1) // 2 : x.size - size // 2]
        powers = np.lib.stride_tricks.sliding_window_view(power, 2 * reach + 1)[:: flat.hop]
        out = np.empty((self.count, 2 * reach + 1), dtype=np.float32)
        for at in range(0, self.count, AT_ONCE):
            here = slice(at, at + AT_ONCE)
            cross = fft.rfft(rows[here], self.length) * self.spectra[here]
            found = fft.irfft(cross, self.length, axis=1)[:, : 2 * reach + 1]
            least = LEAST_POWER * np.max(self.power[at - at % AROUND : at - at % AROUND + AROUND])
            scale = np.maximum(powers[here], least) * self.power[here, None]
            scale += 1e-12
            np.sqrt(scale, out=scale)
            out[here] = between_samples(found, scale)
        return out


def between_samples(products: Floats, scale: Floats) -> Floats:
    """Correlations (frames x lags) at the best of each lag and half a sample either side of it.

    Half a low-rate sample off, the same recording fits no better than a likeness does. products,
    scale: what is divided by what, at whole lags.
    """
    rows, lags = products.shape
    # All rows as one, with nothing between them.
    padded = np.zeros((rows, lags + HALF.size), dtype=np.float32)
    padded[:, HALF.size // 2 : lags + HALF.size // 2] = products
    whole = np.convolve(padded.reshape(-1), HALF)[HALF.size - 1 :]
    half = np.zeros((rows, lags + HALF.size), dtype=np.float32)
    half.reshape(-1)[: whole.size] = whole
    half = half[:, 1:lags] / np.maximum(scale[:, :-1], scale[:, 1:])
    high = products / scale
    low = high.copy()
    for n in (0, 1):
        here = slice(n, lags - 1 + n)
        np.maximum(high[:, here], half, out=high[:, here])
        np.minimum(low[:, here], half, out=low[:, here])
    # The one that is further from nothing, without a branch.
    above = (high + low >= 0.0).astype(np.float32)
    high *= above
    low *= 1.0 - above
    high += low
    return high


def evidence(found: Sequence[Floats]) -> tuple[list[Floats], Floats]:
    """Log likelihood ratios of correlations (homes x frames x lags): the take against no relation.

    A correlation by chance has the variance 1 / (degrees of freedom), read from all lags tried.
    Second comes what a frame may say at most, as far as that is worth: where it fits well.
    """
    squares = np.mean(np.stack([np.mean(np.minimum(c * c, 0.25), axis=1) for c in found]), axis=0)
    freedom = np.minimum(1.0 / np.maximum(squares, 1e-6), MOST_FREEDOM)[:, None]
    out = []
    for c in found:
        part = np.clip(c * c, 0.0, 0.98)
        out.append(likelihood_ratio(1.0 - part, OVERLAP * freedom).astype(np.float32))
    return out, np.asarray(0.5 * OVERLAP * freedom[:, 0], dtype=np.float32)


@dataclass(slots=True)
class Prior:
    """How often every home and lag was found so far: frames, homes x lags."""

    seen: Floats

    @property
    def reach(self) -> int:
        """Lags either side of a home, low-rate samples."""
        return int(self.seen.shape[1]) // 2

    @classmethod
    def none(cls, flat: Sounds, homes: Sequence[Home]) -> Prior:
        """Nothing seen yet."""
        return cls(np.zeros((len(homes), 2 * flat.reach + 1), dtype=np.float32))

    def price(self, home: int, lag: int) -> float:
        """What it costs to change to a place: little for one often used, else for many tried."""
        count, total = self.seen.size, float(np.sum(self.seen))
        share = (float(self.seen[home, lag]) + PRIOR_FRAMES / count) / (total + PRIOR_FRAMES)
        return CHANGE_COST - float(np.log(share))


def usual_fit(flat: Sounds, known: Sequence[tuple[Home, int, int]]) -> float:
    """Squared correlation that is usual where a take is known: homes with ranges of frames.

    0 where nothing known sounds.
    """
    seen: list[Floats] = []
    for home, first, last in known:
        table = Frames(flat, first, last).correlations(home)
        near = table[:, flat.reach - 2 : flat.reach + 3] ** 2
        seen.append(np.max(near, axis=1)[flat.weight[first:last] > LOUD_WEIGHT])
    every = np.concatenate(seen) if seen else np.empty(0)
    return float(np.median(every)) if every.size else 0.0


def track(
    flat: Sounds,
    homes: Sequence[Home],
    ranges: Sequence[tuple[int, int]],
    usual: float,
    used: Sequence[tuple[Home, int]] = (),
) -> list[TrackedSpan]:
    """The likeliest take and lag of ranges of frames, as spans that cover them, in order.

    usual: squared correlation where a take is known (see `usual_fit`), 0 where none is. used:
    places known beforehand, and for how many frames.

    Twice: what was found the first time says which places are usual. Silent frames go on as their
    neighbours do. What nothing supports but itself is left unknown (see believing).
    """
    most = max(200, MOST_VALUES // max(1, len(homes) * (2 * flat.reach + 1)))
    parts = [
        (at, min(last, at + most)) for first, last in ranges for at in range(first, last, most)
    ]
    prior = Prior.none(flat, homes)
    tables = [_follow(flat, homes, first, last) for first, last in parts]
    if usual <= 0.0:
        loud = np.concatenate([table.fits[table.weight > LOUD_WEIGHT] for table in tables])
        usual = max(LEAST_USUAL, float(np.quantile(loud, 0.75)) if loud.size else 0.0)
    usual = min(1.0, usual)
    seen = Prior.none(flat, homes)
    earlier = [
        r for table in tables for r in _readings(table, homes, prior, usual) if likely(r, usual)
    ]
    for r in earlier:
        at = r.lag - homes[r.home].lag + flat.reach
        seen.seen[r.home, max(0, at - 1) : at + 2] += r.frames
    known = [
        (number, place.lag, count)
        for place, count in used
        for number, home in enumerate(homes)
        if home.take == place.take and abs(home.lag - place.lag) <= flat.reach
    ]
    for number, lag, count in known:
        at = lag - homes[number].lag + flat.reach
        seen.seen[number, max(0, at - 1) : at + 2] += count
    readings = [r for table in tables for r in _readings(table, homes, seen, usual)]
    return [
        TrackedSpan(r.first, r.last, homes[r.home].take, r.lag, r.gained, r.fit)
        if good
        else TrackedSpan(r.first, r.last, -1, 0, 0.0, 0.0)
        for r, good in zip(readings, believed(readings, earlier, known, usual), strict=True)
    ]


@dataclass(frozen=True, slots=True)
class _HomingTable:
    """States worth following in a range of frames, and the evidence for them.

    others: the best evidence of any other home, for every home. fits: squared correlation of the
    best state. most: what a frame may say at most.
    """

    first: int
    states: list[tuple[int, int]]
    columns: Floats
    squares: Floats
    others: Floats
    fits: Floats
    most: Floats
    weight: Floats


def _follow(flat: Sounds, homes: Sequence[Home], first: int, last: int) -> _HomingTable:
    frames = Frames(flat, first, last)
    found = [frames.correlations(home) for home in homes]
    scores, most = evidence(found)
    states = _states(scores, flat.reach)
    weight = flat.weight[first:last]
    count = last - first
    tops = np.stack([np.max(table, axis=1) for table in scores], axis=1)
    others = np.zeros_like(tops)
    for n in range(len(homes)):
        beside = [m for m, home in enumerate(homes) if home.take != homes[n].take]
        others[:, n] = np.max(tops[:, beside], axis=1) if beside else 0.0
    columns = np.zeros((count, len(states)), dtype=np.float32)
    squares = np.zeros_like(columns)
    for n, (home, lag) in enumerate(states):
        columns[:, n] = scores[home][:, lag] * weight
        squares[:, n] = found[home][:, lag] ** 2
    fits = np.max(squares, axis=1, initial=0.0)
    return _HomingTable(first, states, columns, squares, others, fits, most, weight)


def _readings(
    table: _HomingTable, homes: Sequence[Home], prior: Prior, usual: float
) -> list[FrameReading]:
    states, first = table.states, table.first
    if not states:
        return [FrameReading(first, first + len(table.weight))]
    # A place must explain a good part of what is usual, measured by what the frame can say.
    share = float(np.clip(UNKNOWN_SHARE * usual, 0.02, 0.5))
    bar = np.maximum(-np.log1p(-share) * table.most, LEAST_UNKNOWN) * table.weight
    unknown = np.asarray(bar, dtype=np.float32)
    prices = [prior.price(*state) for state in states]
    entry = np.array([*prices, UNKNOWN_PRICE], dtype=np.float32)
    scores = np.column_stack([table.columns, unknown])
    path = likeliest_states(scores, entry, _beside(states), STEP_COST)
    out: list[FrameReading] = []
    homes_on = np.array([*(home for home, _ in states), -1])[path]
    lags_on = np.array([*(lag for _, lag in states), -9])[path]
    apart = (np.diff(homes_on) != 0) | (np.abs(np.diff(lags_on)) > 1)
    for a, b in pairwise([0, *(np.flatnonzero(apart) + 1).tolist(), path.size]):
        if homes_on[a] < 0:
            out.append(FrameReading(first + a, first + b))
            continue
        rows = np.arange(a, b)
        gains = table.columns[rows, path[a:b]]
        middle = int(np.median(path[a:b]))
        number, lag = states[middle]
        # Windows over the ends hold something else too: the middle says how well it fits.
        core = slice(2, -2) if b - a > 6 else slice(1, -1) if b - a > 3 else slice(None)
        reading = FrameReading(
            first=first + a,
            last=first + b,
            home=number,
            lag=homes[number].lag + lag - prior.reach,
            gained=float(np.sum(gains - unknown[a:b])) - prices[middle],
            clear=float(np.sum(gains - table.others[a:b, number] * table.weight[a:b])),
            price=prices[middle],
            fit=min(1.0, float(np.mean(np.sqrt(table.squares[rows, path[a:b]])[core]))),
        )
        out.append(reading)
    return out


def _states(scores: Sequence[Floats], reach: int) -> list[tuple[int, int]]:
    """Homes and lags worth following: the best of some frame and its neighbours, in order."""
    total: dict[tuple[int, int], float] = {}
    for number, table in enumerate(scores):
        # A piece lasts several frames: what is best for one alone is chance.
        held = ndimage.uniform_filter1d(table, 5, axis=0, mode="nearest")
        for _ in range(KEPT_A_FRAME):
            at = np.argmax(held, axis=1)
            value = held[np.arange(len(held)), at]
            for lag, worth in zip(at.tolist(), value.tolist(), strict=True):
                if worth > LEAST_EVIDENCE:
                    key = (number, lag)
                    total[key] = total.get(key, 0.0) + worth
            if KEPT_A_FRAME > 1:
                for d in range(-6, 7):
                    held[np.arange(len(held)), np.clip(at + d, 0, 2 * reach)] = 0.0
    return sorted(sorted(total, key=lambda key: -total[key])[:MOST_STATES])


def _beside(states: Sequence[tuple[int, int]]) -> npt.NDArray[np.int32]:
    """For each state the states one sample earlier and later, itself where there is none."""
    index = {state: n for n, state in enumerate(states)}
    rows = [
        (index.get((home, lag - 1), n), index.get((home, lag + 1), n))
        for n, (home, lag) in enumerate(states)
    ]
    rows.append((len(states), len(states)))
    return np.array(rows, dtype=np.int32)
