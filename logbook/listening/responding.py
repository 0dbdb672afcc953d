"""Takes that were sent through something long: what they have in common says which is where.

In a hall, behind an amplifier, through a chorus, under louder instruments, no lag and no gain make
a take fit. But whatever was done was done to all pieces alike, so the response from take to bounce
is one and the same in every window in which the take is right, be it a second long, and a wrong
take answers in each window in a way of its own. So for every take, about where it may stand, the
response is read in many windows (by phases alone, so that no note and no band counts more than
another), and windows of one take that answer alike are looked for: the strongest direction that
they share. A window is then held against what all others say, the one response against all other
places it could begin at. What another performance reaches by that measure is read from the windows
themselves, where it is as often negative as positive. That says which takes answer, and roughly
where; when each is there itself is asked of shorter windows (presence).
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy import fft

from logbook.listening.candidates import Work
from logbook.listening.likeliest import likeliest_states
from logbook.listening.phases import phases, stands_out
from logbook.listening.presence import Answerer, PresentRun, present
from logbook.listening.signals import Samples, cut, fast_size
from logbook.listening.sureness import of_response

LEAST_SECONDS = 1.5  # of what is unknown
BESIDE_SECONDS = 0.02  # of what is known, as far as its ends are uncertain
WINDOW_SECONDS, HOP_SECONDS = 1.5, 0.5
BEFORE_SECONDS, AFTER_SECONDS = 0.12, 0.7  # about where a take may stand: its response
MOST_READ = 6000  # responses: more windows lie farther apart
LEAST_CHANCE = 1.3
STRONG, LEAST_STRONG = 5.0, 2  # deviations, in so many windows apart: a take that is in use
BETTER_THAN_NONE = 2.6  # deviations
ENTRY = 6.0  # beside the logarithm of the number of takes and places
NEW_ENTRY = 7.0  # for one whose place was found by what the others say alone: so many were tried
FIRST_ARRIVAL = 0.8  # of the greatest: where a response begins
LEAST_RUN_SECONDS = 0.7
JOIN_SECONDS = 0.4  # either side of where one take seems to give way to another
TOGETHER_SECONDS = 60.0  # heard at once


@dataclass(frozen=True, slots=True)
class LaggedTake:
    """A take and the lag (low-rate samples) about which it may stand."""

    take: int
    lag: int


@dataclass(frozen=True, slots=True)
class Answer:
    """Seconds `start` to `end` of the bounce come from `take` at `source`.

    sure: deviations by which it stands out, a window's mean.
    """

    start: float
    end: float
    take: int
    source: float
    sure: float
    inverted: bool

    @property
    def believed(self) -> float:
        """How sure to be of one that stands out so far, 0 to 1."""
        return of_response(self.sure)


@dataclass(slots=True)
class _Responses:
    """Responses of a source in all windows (each of length 1), and what they share.

    shared: for every window what the others that do not lie over it have in common.
    z: how far each window bears that out, deviations; at: where its response begins, samples.
    """

    source: LaggedTake
    responses: Samples
    shared: Samples
    z: Samples
    own: bool = True


def answering(
    work: Work,
    unknown: Sequence[tuple[float, float]],
    sources: Sequence[LaggedTake],
    pool: Executor,
    known: Sequence[tuple[float, float]] = (),
) -> list[Answer]:
    """What can be said of unknown stretches (seconds), in order.

    known: moments of which it is known already where they come from. They say nothing of what lies
    between them: only that is listened to.
    """
    wanted = [(a, b) for a, b in unknown if b - a >= LEAST_SECONDS]
    if not sources or not wanted:
        return []
    if known:
        bounce = work.low_bounce.copy()
        for start, end in known:
            first, last = start - BESIDE_SECONDS, end + BESIDE_SECONDS
            bounce[max(0, round(first * work.low_rate)) : round(last * work.low_rate)] = 0.0
        work = replace(work, low_bounce=bounce)
    return [answer for group in _groups(wanted) for answer in _heard(work, group, sources, pool)]


def _groups(wanted: Sequence[tuple[float, float]]) -> list[list[tuple[float, float]]]:
    """The stretches, long ones in parts, in groups that are heard together."""
    out: list[list[tuple[float, float]]] = []
    held = 2 * TOGETHER_SECONDS
    for start, end in wanted:
        count = max(1, round((end - start) / TOGETHER_SECONDS))
        for n in range(count):
            part = tuple(start + (end - start) * k / count for k in (n, n + 1))
            if held + part[1] - part[0] > 1.5 * TOGETHER_SECONDS:
                out.append([])
                held = 0.0
            out[-1].append((part[0], part[1]))
            held += part[1] - part[0]
    return out


def _heard(
    work: Work, wanted: Sequence[tuple[float, float]], sources: Sequence[LaggedTake], pool: Executor
) -> list[Answer]:
    ear = _Ear(work, wanted, len(sources))
    if len(ear.starts) < 2 * LEAST_STRONG:
        return []

    def read(source: LaggedTake) -> _Responses:
        found = ear.read(source)
        work.let_go()
        return found

    every = list(pool.map(read, sources))
    chance = _chance(every)
    used = _without_twins([one for one in every if ear.strong(one, chance)], ear.rate)
    if not used:
        return []
    joint = _joint(used)
    told: list[_Responses] = []
    for one in every:
        if one in used:
            told.append(_with_others(one, [o for o in used if o is not one]))
        elif not any(o.source.take == one.source.take for o in used):
            found = _by_others(one, joint, ear.before)
            if found is not None:
                told.append(found)
    return ear.runs(told, max(chance, _chance(told)))


class _Ear:
    """Windows of the bounce, ready to be held against takes at half the low rate."""

    def __init__(self, work: Work, wanted: Sequence[tuple[float, float]], sources: int) -> None:
        self.work = work
        self.rate = work.low_rate / 2
        self.size = round(WINDOW_SECONDS * self.rate)
        self.before = round(BEFORE_SECONDS * self.rate)
        self.after = round(AFTER_SECONDS * self.rate)
        seconds = sum(b - a for a, b in wanted)
        hop = max(HOP_SECONDS, seconds * sources / MOST_READ)
        self.hop = round(hop * self.rate)
        self.starts: list[int] = []
        self.bounds: list[tuple[int, int, int, int]] = []  # windows, and samples
        for a, b in wanted:
            first, last = round(a * self.rate), round(b * self.rate)
            room = max(0, last - first - self.size)
            count = room // self.hop + 1
            begin = first + (room - (count - 1) * self.hop) // 2
            at = len(self.starts)
            self.starts += [begin + n * self.hop for n in range(count)]
            self.bounds.append((at, len(self.starts), first, last))
        places = np.array(self.starts)
        self.apart = np.abs(places[:, None] - places[None, :]) >= self.size
        self.length = fast_size(self.size + self.before + self.after)
        window = np.hanning(self.size + 2)[1:-1].astype(np.float32)
        self.bounce = work.low_bounce[::2].copy()
        parts = np.stack([cut(self.bounce, at, self.size) * window for at in self.starts])
        self.spectra = phases(np.asarray(fft.rfft(parts, self.length), dtype=np.complex64))

    def read(self, source: LaggedTake) -> _Responses:
        """The responses of a source."""
        take = self.work.low_takes[source.take]
        count = self.size + self.before + self.after
        lags = (np.arange(-self.before, self.after) - self.after) % self.length
        out = np.empty((len(self.starts), lags.size), dtype=np.float32)
        edge = np.minimum(1.0, np.arange(1, count + 1) / self.before).astype(np.float32)
        edge *= edge[::-1]
        for n, at in enumerate(self.starts):
            part = cut(take, 2 * (at - self.after) + source.lag, 2 * count)[::2] * edge
            if not np.any(part):
                out[n] = 0.0
                continue
            take_phases = phases(fft.rfft(part, self.length))
            out[n] = fft.irfft(self.spectra[n] * np.conj(take_phases), self.length)[lags]
        out /= np.linalg.norm(out, axis=1, keepdims=True) + np.float32(1e-9)
        alike = np.where(self.apart, out @ out.T, 0.0)
        _, directions = np.linalg.eigh(alike)
        strength = directions[:, -1]
        strength = np.maximum(strength * np.sign(np.sum(strength)), 0.0)
        shared = np.asarray((strength * self.apart) @ out, dtype=np.float32)
        return _Responses(source, out, shared, stands_out(out, shared)[:, 0])

    def strong(self, one: _Responses, chance: float) -> bool:
        """Whether a source is in use: windows that do not lie over one another bear it out."""
        good = np.flatnonzero(one.z > STRONG * chance)
        return good.size >= LEAST_STRONG and bool(np.any(self.apart[np.ix_(good, good)]))

    def runs(self, told: Sequence[_Responses], chance: float) -> list[Answer]:
        """The likeliest course through the windows of every stretch."""
        z = np.stack([one.z for one in told], axis=1) / chance
        # Windows lie over one another: each says so much that its neighbours do not.
        part = min(1.0, self.hop / self.size)
        gain = 0.5 * part * (np.sign(z) * z**2 - BETTER_THAN_NONE**2)
        many = float(np.log(len(told) + 1))
        price = np.array([(ENTRY if one.own else ENTRY + NEW_ENTRY) + many for one in told])
        price = np.append(price / 2, 0.0)
        where: dict[int, list[tuple[int, int]]] = {}
        for first, last, begin, end in self.bounds:
            scores = np.column_stack([gain[first:last], np.zeros(last - first)])
            path = likeliest_states(scores, price)
            edges = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), path.size]
            for a, b in pairwise(edges):
                state = int(path[a])
                # What it gained must pay for its price.
                if (
                    state == len(told)
                    or np.sum(gain[first + a : first + b, state]) < 2 * price[state]
                ):
                    continue
                inner = [self.starts[first + n - 1] + (self.size + self.hop) // 2 for n in (a, b)]
                start, stop = begin if a == 0 else inner[0], end if b == path.size else inner[1]
                where.setdefault(state, []).append((start, stop))
        return self._there(told, z, where)

    def _there(
        self, told: Sequence[_Responses], z: Samples, where: dict[int, list[tuple[int, int]]]
    ) -> list[Answer]:
        """When those that answer are there themselves. where: samples in which each answers."""
        states = sorted(where)
        if not states:
            return []
        answerers = [
            Answerer(
                self.work.low_takes[told[n].source.take][::2],
                round(told[n].source.lag / 2),
                _mean(told[n]),
                where[n],
            )
            for n in states
        ]
        spans = [(begin, end) for _, _, begin, end in self.bounds]
        middles = np.array(self.starts) + self.size // 2
        out: list[Answer] = []
        for found in present(self.bounce, self.rate, spans, answerers, self.before):
            runs = [PresentRun(r.first, r.last, states[r.number]) for r in found]
            for run in self._joined(runs, told):
                if run.last - run.first < LEAST_RUN_SECONDS * self.rate:
                    continue
                inside = (middles >= run.first) & (middles < run.last)
                if not np.any(inside):
                    inside = np.abs(middles - (run.first + run.last) // 2) < self.hop
                own = z[inside, run.number]
                out.append(self._said(told[run.number], run.first, run.last, float(np.mean(own))))
        return out

    def _joined(self, runs: Sequence[PresentRun], told: Sequence[_Responses]) -> list[PresentRun]:
        """The runs with their joins where the sound of one gives way to that of the other."""
        out = list(runs)
        for n, (one, other) in enumerate(pairwise(runs)):
            if one.last == other.first:
                at = self._edge(told[one.number], told[other.number], one.last)
                out[n] = replace(out[n], last=at)
                out[n + 1] = replace(out[n + 1], first=at)
        return out

    def _edge(self, one: _Responses, other: _Responses, at: int) -> int:
        """Where the first of two gives way to the second, near `at`, samples."""
        reach = round(JOIN_SECONDS * self.rate)
        heard = cut(self.bounce, at - reach, 2 * reach)
        level = np.sqrt(np.convolve(heard**2, np.full(401, 1 / 401), mode="same")) + 1e-9
        a, b = (
            heard * sound / level / (np.sqrt(np.mean(sound**2)) + 1e-9)
            for sound in (self._through(each, at - reach, 2 * reach) for each in (one, other))
        )
        return at - reach + int(np.argmax(np.concatenate([[0.0], np.cumsum(a - b)])))

    def _through(self, one: _Responses, first: int, count: int) -> Samples:
        """What the source should sound like, from its response."""
        response = np.mean(one.shared, axis=0)
        lead = self.after
        take = self.work.low_takes[one.source.take]
        sound = cut(take, 2 * (first - lead) + one.source.lag, 2 * (count + lead + self.before))
        size = fast_size(count + lead + self.before + response.size)
        out = fft.irfft(fft.rfft(sound[::2], size) * fft.rfft(response, size), size)
        return np.asarray(out[lead + self.before : lead + self.before + count], dtype=np.float32)

    def _said(self, one: _Responses, first: int, last: int, sure: float) -> Answer:
        response = np.mean(one.shared, axis=0)
        size = np.abs(response)
        at = int(np.argmax(size > FIRST_ARRIVAL * np.max(size)))
        top = at + int(np.argmax(size[at : at + 4]))
        lag = one.source.lag / self.work.low_rate - (top - self.before) / self.rate
        start, end = first / self.rate, last / self.rate
        start = max(start, -lag)
        return Answer(start, end, one.source.take, start + lag, sure, bool(response[top] < 0))


def _chance(reads: Sequence[_Responses]) -> float:
    """The deviation of what windows show of wrong takes: theirs are as often below nothing."""
    every = np.concatenate([one.z for one in reads if one.own]) if reads else np.empty(0)
    below = every[every < 0.0]
    return max(LEAST_CHANCE, float(np.sqrt(np.mean(below**2)))) if below.size else LEAST_CHANCE


def _without_twins(used: Sequence[_Responses], rate: float) -> list[_Responses]:
    """Those left where two places of one take lie within one response: the clearer."""
    near = 2 * (BEFORE_SECONDS + AFTER_SECONDS) * rate
    out: list[_Responses] = []
    for one in sorted(used, key=lambda each: -float(np.sum(np.maximum(each.z, 0.0)))):
        if all(
            one.source.take != o.source.take or abs(one.source.lag - o.source.lag) > near
            for o in out
        ):
            out.append(one)
    return out


def _mean(one: _Responses) -> Samples:
    """What a source's windows share, as much as they do."""
    return np.asarray(np.mean(one.shared, axis=0), dtype=np.float32)


def _shift_between(a: Samples, b: Samples) -> tuple[int, float]:
    """By how much b must be moved later to lie on a, and how clearly it does, deviations."""
    reach = round(0.3 * a.size)
    z = stands_out(a[None, :], b[None, :], reach)[0]
    best = int(np.argmax(z))
    return best - reach, float(z[best])


def _moved(response: Samples, later: int) -> Samples:
    out = np.zeros_like(response)
    if later >= 0:
        out[later:] = response[: response.size - later]
    else:
        out[:later] = response[-later:]
    return out


def _joint(used: Sequence[_Responses]) -> Samples:
    """One response of all sources in use, at the place of the clearest."""
    first, *rest = used
    out = _mean(first).copy()
    for one in rest:
        later, clear = _shift_between(out, _mean(one))
        if clear > 2 * STRONG:
            out += _moved(_mean(one), later)
    return out


def _with_others(one: _Responses, others: Sequence[_Responses]) -> _Responses:
    """The source, its windows held against what the other sources say too."""
    shared = one.shared.copy()
    mine = _mean(one)
    for other in others:
        later, clear = _shift_between(mine, _mean(other))
        if clear > 2 * STRONG:
            shared += _moved(_mean(other), later)[None, :]
    return _Responses(one.source, one.responses, shared, stands_out(one.responses, shared)[:, 0])


def _by_others(one: _Responses, joint: Samples, reach: int) -> _Responses | None:
    """A source that its own windows do not show, by the response of the others."""
    table = stands_out(one.responses, np.repeat(joint[None, :], len(one.responses), 0), reach)
    worth = np.sum(np.maximum(table - 2 * STRONG, 0.0) ** 2, axis=0)
    best = int(np.argmax(worth))
    if worth[best] <= 0.0:
        return None
    shared = np.repeat(_moved(joint, best - reach)[None, :], len(one.responses), 0)
    return _Responses(one.source, one.responses, shared, table[:, best], own=False)
