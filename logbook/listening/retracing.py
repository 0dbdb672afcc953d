"""Step three of recovering a comp: the path traced again on what the fitted takes leave over.

The first path says roughly what comes from where. Here every stretch gets its own exact lag (two
pieces of one take can be a sample apart, from rounding in the editor), the channel is fitted, and
the path is traced anew at full rate. How much is usually left over where a take fits sets the
bar: what leaves clearly more is unknown, even where it is likelier than anything else.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from logbook.listening.candidates import Work, loudness_weight
from logbook.listening.edges import EXACT_LEFT, place_edges
from logbook.listening.fitting import (
    STEP_16_BIT,
    Channel,
    SoundMatch,
    exact_lag,
    fit_channel,
    fitted_frames,
    unchanged,
    window_size,
)
from logbook.listening.odds import holes, independent_samples, standing, worth
from logbook.listening.signals import Samples, filtered
from logbook.listening.tracing import (
    UNKNOWN,
    Scores,
    TraceFrames,
    best_path,
    entry_costs,
    framed,
    score,
    spans,
    weighed,
)

FRAME_SECONDS = 0.010
CHANGE_COST = 8.0
GAIN_FRAMES = (21, 5)
AROUND_SECONDS = 0.75  # either side of its first span that a place is tried again
LEAST_LEFT = 1e-5
WORST_TYPICAL = 0.6
INNER_SECONDS, INNER_AGAIN_SECONDS = 0.1, 0.02  # clear of joins that are rough, and placed
MUCH_LEFT = 0.9  # of what was known that must be left, or it is fitted again
BETTER = 0.7  # of what is usually left over: then the second fit is taken
OFTEN_UNCHANGED = 0.2  # of the frames of a first path, by which nothing was done to the takes
OFTEN_SECONDS = 3.0
BETWEEN_SAMPLES = 0.08  # a lag further than this from whole samples is tried at both
SAME_LAG = 2  # samples

DOUBTFUL_FRAMES, DOUBTFUL_WEIGHT = 4, 0.2


@dataclass(frozen=True, slots=True)
class Site:
    """A take at a whole lag, and the ranges of frames in which it is tried."""

    take: int
    lag: int
    exact: float
    ranges: Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class TraceEvidence:
    """Scores of every site at every frame (BARRED ones and untried ones low), and their weight."""

    scores: Scores
    unknown: Scores
    weight: Samples
    typical: float


@dataclass(frozen=True, slots=True)
class Retraced:
    """The path traced again, and what it was judged by.

    channel is None where nothing is known. typical: part of the bounce usually left over where a
    take fits. doubtful: samples (first, exclusive last) of stretches within known pieces in which
    the take suddenly leaves more over than where it fits.
    """

    matches: list[SoundMatch]
    channel: Channel | None
    typical: float
    doubtful: Sequence[tuple[int, int]]


def trace_again(work: Work, matches: Sequence[SoundMatch], pool: Executor) -> Retraced:
    """The matches of the first path made exact, with joins to the millisecond.

    Where that path ran across much that its places do not explain, what was done to the takes is
    fitted once more, from what they do explain; nothing was where frames say so.
    """
    exact = list(pool.map(lambda match: at_exact_lag(work, match), matches))
    traced = _traced(work, exact, _fitted(work, exact, INNER_SECONDS), pool)
    none = traced.channel is None
    if (none or traced.typical > EXACT_LEFT) and _often_unchanged(work, exact):
        again = _traced(work, exact, unchanged(work.bounce, work.rate), pool)
    elif _known(traced.matches) < MUCH_LEFT * _known(matches):
        again = _traced(work, exact, _fitted(work, traced.matches, INNER_AGAIN_SECONDS), pool)
    else:
        return traced
    better = none or again.typical < BETTER * traced.typical
    return again if better and again.channel is not None else traced


def _fitted(work: Work, matches: Sequence[SoundMatch], inner_s: float) -> Channel | None:
    """What was done to the takes, fitted `inner_s` clear of joins; None where nothing says."""
    sure = [_inner(m, round(inner_s * work.rate)) for m in matches if m.take != UNKNOWN]
    sure = [m for m in sure if m.last - m.first >= window_size(work.rate)]
    return fit_channel(work.bounce, work.takes, sure, work.rate) if sure else None


def _often_unchanged(work: Work, matches: Sequence[SoundMatch]) -> bool:
    """Whether in a good part of what is known takes are left as they are, but for their gain.

    That is seen frame by frame, however short the pieces are and however much the path ran across
    that its places do not explain: nothing fits so exactly by chance.
    """
    frame = round(FRAME_SECONDS * work.rate)
    found = []
    for m in matches:
        if m.take == UNKNOWN or m.last - m.first < GAIN_FRAMES[-1] * frame:
            continue
        part = work.bounce[m.first : m.last]
        frames = framed(part, work.takes[m.take], m.first + m.lag, frame)
        quiet = frame * STEP_16_BIT**2
        scores = score(frames, quiet=quiet, best=LEAST_LEFT, widths=GAIN_FRAMES)
        found.append(scores[frames.bounce > quiet / EXACT_LEFT])
    every = np.concatenate(found) if found else np.empty(0)
    exact = every > -np.log(EXACT_LEFT)
    return bool(every.size and np.mean(exact) > OFTEN_UNCHANGED)


def _known(matches: Sequence[SoundMatch]) -> int:
    return sum(m.last - m.first for m in matches if m.take != UNKNOWN)


def _traced(
    work: Work, exact: Sequence[SoundMatch], channel: Channel | None, pool: Executor
) -> Retraced:
    """The places of the first path, at exact lags, traced on what the takes leave over.

    channel: what was done to the takes.
    """
    nothing = Retraced([SoundMatch(0, work.bounce.size, UNKNOWN, 0, UNKNOWN)], None, 0.0, ())
    if channel is None:
        return nothing
    frame = round(FRAME_SECONDS * work.rate)
    sites = _sites(work, exact, frame)
    evidence = _weigh(work, sites, exact, channel, frame, pool)
    if evidence.typical > WORST_TYPICAL:
        return nothing
    path = best_path(
        weighed(np.column_stack([evidence.scores, evidence.unknown]), evidence.weight[:, None]),
        entry_costs(_explained(evidence) * FRAME_SECONDS, CHANGE_COST),
        CHANGE_COST,
    )
    believed = _believed(_as_runs(path, sites, evidence, frame, work), tried(work))
    if not believed:
        return nothing
    covered = join_same(_with_unknown(believed, work.bounce.size))
    placed = place_edges(work, channel, covered, evidence.typical)
    return Retraced(placed, channel, evidence.typical, _doubtful_within(path, evidence, frame))


def _doubtful_within(
    path: npt.NDArray[np.int32], evidence: TraceEvidence, frame: int
) -> list[tuple[int, int]]:
    """Where a piece of the path does not fit for some frames, in samples."""
    known = path < evidence.scores.shape[1]
    held = evidence.scores[np.arange(path.size), np.where(known, path, 0)]
    odd = known & (held < evidence.unknown) & (evidence.weight > DOUBTFUL_WEIGHT)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], odd.astype(np.int8), [0]])))
    return [
        (int(a) * frame, int(b) * frame)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if b - a >= DOUBTFUL_FRAMES
    ]


def at_exact_lag(work: Work, match: SoundMatch) -> SoundMatch:
    """The match at the lag its own sound says, if it is long enough to say."""
    margin = round(0.1 * work.rate)
    size = window_size(work.rate) // 2
    room = match.last - match.first - 2 * margin - size
    if match.take == UNKNOWN or room < size:
        return match
    count = min(16, room // size + 1)
    starts = [match.first + margin + round(room * n / max(1, count - 1)) for n in range(count)]
    lag = exact_lag(work.bounce, work.takes[match.take], match.lag, starts, work.factor, size)
    return replace(match, lag=round(lag), exact=lag)


def _inner(match: SoundMatch, margin: int) -> SoundMatch:
    return replace(match, first=match.first + margin, last=match.last - margin)


def _sites(work: Work, matches: Sequence[SoundMatch], frame: int) -> list[Site]:
    """Every place of the first path at each of the whole lags seen there."""
    sites: list[Site] = []
    around = round(AROUND_SECONDS * work.rate)
    doubtful = _doubtful(matches, work.rate)
    for place in sorted({m.place for m in matches} - {UNKNOWN}):
        mine = [m for m in matches if m.place == place]
        often = sum(m.last - m.first for m in mine) > 0.5 * OFTEN_SECONDS * work.rate
        ranges: list[tuple[int, int]] = []
        for m in matches:
            if m.place != place and not (often and m in doubtful):
                continue
            first = max(0, m.first - around) // frame
            last = min(work.bounce.size, m.last + around) // frame
            if ranges and first <= ranges[-1][1]:
                ranges[-1] = (ranges[-1][0], last)
            else:
                ranges.append((first, last))
        lags: dict[int, float] = {}
        for m in mine:
            between = abs(m.exact - round(m.exact)) > BETWEEN_SAMPLES
            both = (int(np.floor(m.exact)), int(np.ceil(m.exact)))
            for lag in both if between else (m.lag,):
                lags.setdefault(lag, m.exact)
        sites += [Site(mine[0].take, lag, exact, ranges) for lag, exact in lags.items()]
    return sites


def _doubtful(matches: Sequence[SoundMatch], rate: int) -> list[SoundMatch]:
    """Stretches of the first path that a place often used may yet explain better.

    Those of places hardly used, and short unknown ones.
    """
    used: Counter[int] = Counter()
    for m in matches:
        used[m.place] += m.last - m.first
    limit = OFTEN_SECONDS * rate
    return [
        m for m in matches if (m.last - m.first if m.take == UNKNOWN else used[m.place]) <= limit
    ]


def _weigh(
    work: Work,
    sites: Sequence[Site],
    matches: Sequence[SoundMatch],
    channel: Channel,
    frame: int,
    pool: Executor,
) -> TraceEvidence:
    """Score every site in its ranges, and find what is usual where takes fit."""
    count = work.bounce.size // frame
    white = filtered(work.bounce, channel.white)
    jobs = [(n, span) for n, site in enumerate(sites) for span in site.ranges]

    def frames_of(job: tuple[int, tuple[int, int]]) -> TraceFrames:
        site, (first, last) = sites[job[0]], job[1]
        match = SoundMatch(first * frame, last * frame, site.take, site.lag, job[0])
        frames = fitted_frames(white, work.takes[site.take], match, channel, frame)
        work.let_go()
        return frames

    results = list(pool.map(frames_of, jobs))
    # Of all frames: where no place was tried, the bounce has sound all the same, and none fits.
    rows = white[: count * frame].reshape(count, frame)
    energy = np.einsum("ij,ij->i", rows, rows)
    quiet = channel.noise * frame + 1e-7 * float(np.quantile(energy, 0.95)) + 1e-12
    weight = loudness_weight(energy, quiet, round(2.0 / FRAME_SECONDS) | 1)
    scores = np.full((count, len(sites)), -1.0, dtype=np.float32)
    for (n, (first, last)), frames in zip(jobs, results, strict=True):
        scores[first:last, n] = score(frames, quiet=quiet, best=LEAST_LEFT, widths=GAIN_FRAMES)
    typical = _typical(np.max(scores, axis=1), matches, weight, frame)
    np.minimum(scores, float(np.log(1.0 / max(typical / 3, 1e-4))), out=scores)
    limit = float(np.clip(typical**0.4, 0.03, 0.6))
    # In what is hardly louder than noise even the right take leaves a good part over.
    reachable = np.log((energy + quiet) / (typical * energy + quiet))
    unknown = np.minimum(0.4 * reachable, np.log(1.0 / limit))
    return TraceEvidence(scores, np.asarray(unknown, dtype=np.float32), weight, typical)


def _typical(best: Samples, matches: Sequence[SoundMatch], weight: Samples, frame: int) -> float:
    """The part of the bounce that is usually left over where a take fits."""
    known = np.zeros(best.size, dtype=np.bool_)
    for m in matches:
        if m.take != UNKNOWN:
            known[m.first // frame : m.last // frame] = True
    chosen = best[known & (weight > 0.3)]
    return float(np.exp(-np.quantile(chosen, 0.6))) if chosen.size else 1.0


def _explained(evidence: TraceEvidence) -> Samples:
    """For each site the number of frames it explains better than nothing does."""
    better = evidence.scores > evidence.unknown[:, None]
    return np.asarray(np.sum(better, axis=0), dtype=np.float32)


def tried(work: Work) -> float:
    """How many places there are: all lags of all takes."""
    return float(sum(take.size for take in work.low_takes))


@dataclass(frozen=True, slots=True)
class _PathRun:
    """A stretch of the path that stands at one place, and what it is worth (see odds)."""

    match: SoundMatch
    gained: float


def _as_runs(
    path: npt.NDArray[np.int32],
    sites: Sequence[Site],
    evidence: TraceEvidence,
    frame: int,
    work: Work,
) -> list[_PathRun]:
    """The known stretches of the path, in order, without what their takes do not explain."""
    out: list[_PathRun] = []
    for span in spans(path, len(sites)):
        if span.state == UNKNOWN:
            continue
        here = slice(span.first, span.last)
        weight = evidence.weight[here]
        better = evidence.scores[here, span.state] - evidence.unknown[here]
        first, last = (each * frame // work.factor for each in (span.first, span.last))
        gained = worth(better, weight, independent_samples(work.low_bounce[first:last]))
        gaps = holes(gained)
        edges = [0, *(each for gap in gaps for each in gap), len(gained)]
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            if b <= a:
                continue
            begin, end = (span.first + a) * frame, (span.first + b) * frame
            if span.first + b == path.size:
                end = work.bounce.size
            heavy = float(np.sum(weight[a:b]))
            share = float(np.sum(weight[a:b] * (better[a:b] > 0.0))) / heavy if heavy else 1.0
            site = sites[span.state]
            match = SoundMatch(begin, end, site.take, site.lag, span.state, site.exact, share)
            out.append(_PathRun(match, float(np.sum(gained[a:b]))))
    return out


def _believed(runs: Sequence[_PathRun], tried: float) -> list[SoundMatch]:
    """Those of the runs that are likelier than chance."""
    places = [
        next(k for k, other in enumerate(runs) if same_place(other.match, run.match))
        for run in runs
    ]
    good = standing(places, [run.gained for run in runs], tried)
    return [run.match for run, stands in zip(runs, good, strict=True) if stands]


def _with_unknown(matches: Sequence[SoundMatch], total: int) -> list[SoundMatch]:
    """Matches in order with unknown ones between them, over the whole bounce."""
    out: list[SoundMatch] = []
    at = 0
    for m in matches:
        if m.first > at:
            out.append(SoundMatch(at, m.first, UNKNOWN, 0, UNKNOWN))
        out.append(m)
        at = m.last
    if at < total:
        out.append(SoundMatch(at, total, UNKNOWN, 0, UNKNOWN))
    return out


def same_place(a: SoundMatch, b: SoundMatch) -> bool:
    """Whether two matches are of one take at one lag, give or take the rounding of an editor."""
    return a.take == b.take and (a.take == UNKNOWN or abs(a.lag - b.lag) <= SAME_LAG)


def join_same(matches: Sequence[SoundMatch]) -> list[SoundMatch]:
    """Neighbours from the same place made one, at the lag of the longer."""
    out: list[SoundMatch] = []
    for m in matches:
        if not out or not same_place(out[-1], m):
            out.append(m)
            continue
        old = out[-1]
        a, b = old.last - old.first, m.last - m.first
        share = (a * old.share + b * m.share) / max(1, a + b)
        longer = old if a >= b else m
        out[-1] = replace(longer, first=old.first, last=m.last, share=share)
    return out
