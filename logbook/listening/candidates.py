"""Steps one and two of recovering a comp: the places worth believing, and a first path.

A place is believed when it explains a good stretch of the bounce better than everything believed
before it: a single note that two performances share by chance does not, a bar does. Places are
then at their exact lag, and a first path is traced through them at the low rate.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from logbook.listening import fitting, searching
from logbook.listening.signals import Samples, cut, fractionally_later, lowered, moving_max
from logbook.listening.tracing import Scores, TraceCandidate, framed, score

# Rounds of the search: seconds of a block, which of the open blocks are looked up (every n-th),
# and how much of a block must be unexplained for it to be open.
PASSES = ((4.0, 4, 0.1), (4.0, 1, 0.1), (1.0, 1, 0.25))
# Where there is much to look through: first at a lower rate, a few places of each block, and at
# first (last in a pass: whether in all takes) in those of which no place is believed yet.
COARSE_PASSES = ((4.0, 4, 0.1, False), (4.0, 1, 0.1, False), (4.0, 1, 0.1, True))
MUCH_SECONDS, MOST_OF_A_BLOCK = 900.0, 8
FRAME_SECONDS = 0.025
GAIN_FRAMES = (13,)  # about a third of a second
LEAST_EVIDENCE = 25.0  # score x frames that a new place must add: a second at a score of 1
UNKNOWN_SCORE = 0.3
BEST_LEFT = 0.05
ROUGH_EVIDENCE = 12.0
MOST_REFINED = 24
MORE_A_MINUTE = 24
LAG_WINDOWS = 20
AROUND_SECONDS = 30.0  # of where a place was seen, that it is looked at first
NEAR_SECONDS, NEAR_EVIDENCE = 2.0, 3.0  # that it must explain there to be looked at farther off
COARSER = 4  # the coarse rate beside the low one


def nothing_held() -> None:
    """What there is to let go where all sound is in memory."""


@dataclass(frozen=True, slots=True)
class Work:
    """All sounds at one rate: whole, and at a low rate with a flat spectrum.

    coarse_takes: the takes at a `COARSER` rate than the low one, of which they hold the lower half
    of the band or less. let_go: gives back the memory of long sound that was read (see shelving).
    """

    rate: int
    factor: int
    bounce: Samples
    takes: Sequence[Samples]
    low_bounce: Samples
    low_takes: Sequence[Samples]
    coarse_takes: Sequence[Samples]
    let_go: Callable[[], None] = nothing_held

    @property
    def low_rate(self) -> float:
        """Samples a second of the low signals."""
        return self.rate / self.factor

    @property
    def frame(self) -> int:
        """Low samples of a frame."""
        return round(FRAME_SECONDS * self.low_rate)

    @property
    def frame_seconds(self) -> float:
        """Seconds of a frame, exactly."""
        return self.frame / self.low_rate


@dataclass(frozen=True, slots=True)
class Believed:
    """A candidate at its exact lag (full rate, with a fraction) and its score at every frame."""

    candidate: TraceCandidate
    exact: float
    scores: Scores


@dataclass(frozen=True, slots=True)
class Seen:
    """A candidate and the frames (first, exclusive last) it is looked at in, if it holds in `near`.

    near: frames about the blocks in which it was seen, None for a place of the whole bounce.
    """

    candidate: TraceCandidate
    frames: tuple[int, int]
    near: tuple[int, int] | None = None


def loudness_weight(energy: Samples, quiet: float, frames: int) -> Samples:
    """How much a frame's score counts, 1 on average: less in what is quiet beside the rest."""
    floor = 1e-4 * float(np.quantile(energy, 0.95)) + 1e-20
    around = np.maximum(moving_max(energy, frames), np.float32(floor))
    weight = np.sqrt(energy / around) * (energy / (energy + np.float32(quiet)))
    sounding = weight[weight > 0.02]
    usual = max(0.2, float(np.mean(sounding))) if sounding.size else 1.0
    return np.asarray(weight / usual, dtype=np.float32)


def believe(
    work: Work, places: Sequence[Sequence[int]], pool: Executor
) -> tuple[list[Believed], Samples]:
    """The places believed, best first, and the weight of every frame.

    places: for every take the lags (low samples) at which it stands out of the whole bounce.
    """
    energy = framed(work.low_bounce, work.low_bounce, 0, work.frame).bounce
    quiet = 1e-6 * float(np.quantile(energy, 0.95)) + 1e-12
    weight = loudness_weight(energy, quiet, round(2.0 / work.frame_seconds) | 1)
    homes = [TraceCandidate(take, lag) for take, lags in enumerate(places) for lag in lags]
    whole = (0, energy.size)
    found = _accept(work, [Seen(home, whole) for home in homes], [], weight, energy, quiet, pool)
    takes = range(len(work.low_takes))
    much = sum(take.size for take in work.low_takes) > MUCH_SECONDS * work.low_rate
    coarse = lowered(work.low_bounce, COARSER)
    for seconds, every, least, in_all in COARSE_PASSES if much else ():
        believed = {one.candidate.take for one in found}
        others = [take for take in takes if in_all or take not in believed]
        starts = _open_blocks(work, found, weight, seconds, least)[::every]
        listed = _looked_up(work, coarse, COARSER, others, starts, seconds, pool)
        few = [places[:MOST_OF_A_BLOCK] for places in listed]
        lags = _merged(work, starts, few, seconds, COARSER)
        found = _accept(work, lags, found, weight, energy, quiet, pool)
    half = work.low_bounce[::2].copy()
    for seconds, every, least in PASSES[1:] if much else PASSES:
        starts = _open_blocks(work, found, weight, seconds, least)[::every]
        listed = _looked_up(work, half, 2, takes, starts, seconds, pool)
        lags = _merged(work, starts, listed, seconds, 2)
        found = _accept(work, lags, found, weight, energy, quiet, pool)
    return found, weight


def _looked_up(
    work: Work,
    bounce: Samples,
    step: int,
    takes: Sequence[int],
    starts: Sequence[int],
    seconds: float,
    pool: Executor,
) -> list[list[searching.FoundPlace]]:
    """Where the blocks at `starts` (low samples) may lie in the takes, best first.

    bounce: every `step`-th of its low samples, by which blocks of `seconds` are looked up.
    """
    block = round(seconds * work.low_rate / step)

    def of(take: int) -> list[list[searching.FoundPlace]]:
        # One index is held at a time.
        sound = work.coarse_takes[take] if step == COARSER else work.low_takes[take][::step]
        index = searching.TakeIndex(sound, block)
        work.let_go()
        return [searching.places_in(bounce, take, index, start // step) for start in starts]

    by_take = list(pool.map(of, takes)) if starts else []
    return [
        searching.worthy([place for places in by_take for place in places[n]])
        for n in range(len(starts))
    ]


def _open_blocks(
    work: Work, found: Sequence[Believed], weight: Samples, seconds: float, least: float
) -> list[int]:
    """Starts (low samples) of the blocks in which something is not yet explained.

    Explained is what scores at least half of what is usual among the best explained.
    """
    block = COARSER * round(seconds * work.low_rate / COARSER)
    starts = list(range(0, max(1, work.low_bounce.size - block // 2), block))
    if not found:
        return starts
    best = np.max(np.stack([one.scores for one in found]), axis=0)
    usual = float(np.quantile(best[weight > 0.3], 0.75)) if np.any(weight > 0.3) else 0.0
    loud = weight**2  # what matters is that the loud is explained, not its reverberation
    open_frames = loud * (best < max(UNKNOWN_SCORE, 0.5 * usual))
    a_block = block / work.frame
    out = []
    for start in starts:
        first = round(start / work.frame)
        here = slice(first, round(first + a_block))
        if float(np.sum(open_frames[here])) > least * float(np.sum(loud[here])) + 1e-6:
            out.append(start)
    return out


def _merged(
    work: Work,
    starts: Sequence[int],
    listed: Sequence[Sequence[searching.FoundPlace]],
    seconds: float,
    step: int,
) -> list[Seen]:
    """Distinct candidates at low-rate lags, most often and most clearly seen first.

    starts: of the blocks of `seconds`, low samples; what is listed is at every `step`-th of them.
    """
    size = step * round(seconds * work.low_rate / step)
    total: dict[tuple[int, int], float] = {}
    seen: dict[tuple[int, int], tuple[int, int]] = {}
    frames = work.low_bounce.size // work.frame
    a_block = -(-size // work.frame)
    for start, places in zip(starts, listed, strict=True):
        here = work.low_bounce[start : start + size]
        for place in places:
            lags = range(step * place.lag - step, step * place.lag + step + 1)
            take = work.low_takes[place.take]
            strength = [
                abs(float(np.vdot(here, cut(take, start + lag, here.size)))) for lag in lags
            ]
            key = (place.take, lags[int(np.argmax(strength))])
            total[key] = total.get(key, 0.0) + place.ratio
            at = start // work.frame
            low, high = seen.get(key, (at, at + a_block))
            seen[key] = (min(low, at), max(high, at + a_block))
    kept: list[tuple[int, int]] = []
    for number, lag in sorted(total, key=lambda key: -total[key]):
        if not any(number == other and abs(lag - old) <= 2 for other, old in kept):
            kept.append((number, lag))

    def about(key: tuple[int, int], seconds: float) -> tuple[int, int]:
        around = round(seconds / work.frame_seconds)
        return max(0, seen[key][0] - around), min(frames, seen[key][1] + around)

    return [
        Seen(TraceCandidate(*key), about(key, AROUND_SECONDS), about(key, NEAR_SECONDS))
        for key in kept
    ]


def scored(work: Work, candidate: TraceCandidate, exact: float, quiet: float) -> Scores:
    """Score of a take at an exact full-rate lag, at every frame of the bounce."""
    low = exact / work.factor
    whole = int(np.floor(low))
    take = fractionally_later(work.low_takes[candidate.take], low - whole)
    frames = framed(work.low_bounce, take, whole, work.frame)
    return score(frames, quiet=quiet, best=BEST_LEFT, widths=GAIN_FRAMES)


def best_run(gain: Samples) -> float:
    """Greatest sum over a run of frames."""
    total = np.concatenate([[0.0], np.cumsum(gain, dtype=np.float64)])
    return float(np.max(total - np.minimum.accumulate(total)))


def _accept(
    work: Work,
    lags: Sequence[Seen],
    found: Sequence[Believed],
    weight: Samples,
    energy: Samples,
    quiet: float,
    pool: Executor,
) -> list[Believed]:
    """Those of the candidates that add enough to what is believed, one after another."""

    def rough(candidate: TraceCandidate, first: int, last: int) -> tuple[Scores, float]:
        at = first * work.frame
        frames = framed(
            work.low_bounce[at : last * work.frame],
            work.low_takes[candidate.take],
            candidate.lag + at,
            work.frame,
            energy[first:last],
        )
        scores = score(frames, quiet=quiet, best=BEST_LEFT, widths=GAIN_FRAMES)
        return scores, best_run(weight[first:last] * (scores - UNKNOWN_SCORE))

    def looked_at(one: Seen) -> tuple[Scores, float]:
        enough = one.near is None or rough(one.candidate, *one.near)[1] >= NEAR_EVIDENCE
        found = rough(one.candidate, *one.frames) if enough else (np.empty(0, np.float32), 0.0)
        work.let_go()
        return found

    looked = list(pool.map(looked_at, lags))
    roughly, runs = [scores for scores, _ in looked], [run for _, run in looked]
    out = list(found)
    refined, most = 0, round(MOST_REFINED + MORE_A_MINUTE * work.bounce.size / work.rate / 60)
    known = np.full(weight.size, UNKNOWN_SCORE, dtype=np.float32)
    for one in out:
        np.maximum(known, one.scores, out=known)
    for i in sorted(range(len(lags)), key=lambda i: -runs[i]):
        if runs[i] < ROUGH_EVIDENCE:
            break
        candidate, (first, last) = lags[i].candidate, lags[i].frames
        adds = np.zeros_like(weight)
        adds[first:last] = weight[first:last] * (roughly[i] - known[first:last])
        if best_run(adds) < ROUGH_EVIDENCE:
            continue
        if refined >= most:
            break
        refined += 1
        one = _refined(work, candidate, _windows(work, adds), quiet)
        work.let_go()
        if best_run(weight * (one.scores - known)) < LEAST_EVIDENCE:
            continue
        if not any(_same(one, other) for other in out):
            out.append(one)
            np.maximum(known, one.scores, out=known)
    return out


def _refined(
    work: Work, candidate: TraceCandidate, starts: Sequence[int], quiet: float
) -> Believed:
    """A candidate from the low rate at its exact lag."""
    lag = candidate.lag * work.factor
    take, size = work.takes[candidate.take], fitting.window_size(work.rate) // 2
    exact = fitting.exact_lag(work.bounce, take, lag, starts, 3 * work.factor, size)
    whole = TraceCandidate(candidate.take, round(exact))
    return Believed(whole, exact, scored(work, candidate, exact, quiet))


def _same(one: Believed, other: Believed) -> bool:
    """Whether two candidates are the same place, give or take a millisecond at 44.1 kHz."""
    return one.candidate.take == other.candidate.take and (
        abs(one.candidate.lag - other.candidate.lag) <= 44
    )


def _windows(work: Work, gain: Samples) -> list[int]:
    """Starts (full rate) of windows in which the candidate explains most."""
    a_window = max(1, round(fitting.window_size(work.rate) / 2 / (work.frame * work.factor)))
    count = gain.size // a_window
    if count == 0:
        return [0]
    sums = np.sum(gain[: count * a_window].reshape(count, a_window), axis=1)
    best = np.argsort(-sums)[:LAG_WINDOWS]
    return sorted(int(n) * a_window * work.frame * work.factor for n in best if sums[n] > 0.0) or [
        0
    ]
