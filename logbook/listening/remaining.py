"""What is unknown where no take could be subtracted, asked of what takes leave in the sound.

First whether something long was done to all pieces alike (responding), which holds where most is
unknown; then whether a stretch keeps in step with a take at one lag (faint).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor

from logbook.listening.candidates import Work
from logbook.listening.faint import faintly
from logbook.listening.fitting import SoundMatch
from logbook.listening.homes import answering_homes, playing_home, playing_homes
from logbook.listening.noted_pieces import NotedStretch, joined
from logbook.listening.responding import LaggedTake, answering
from logbook.listening.tracing import UNKNOWN

AROUND_SECONDS = 1.0  # of what is known, that unknown moments are judged with
LEAST_SECONDS = 0.7  # of what is left of a stretch
LEAST_CLEAN_SECONDS = 1.5  # a stroke or a syllable is alike in two performances
APART_SECONDS = 0.08  # places of a take nearer than this are one, for a response has both
MOST_PLACES, MOST_SOURCES = 5, 48  # of a take, and of all together
ANSWERED, PLAYED = 2, 3
MUCH = 0.1  # of the bounce: where less is unknown, what is known says where takes stand


def remaining(
    work: Work,
    matches: Sequence[SoundMatch],
    places: Sequence[Sequence[int]],
    unknown: Sequence[tuple[float, float]],
    *,
    clean: bool,
    pool: Executor,
) -> list[NotedStretch]:
    """What can be said of the unknown stretches (seconds at the takes' speed), in order.

    places: for every take the lags (low samples) at which it stands out of the bounce. clean:
    the bounce fits its takes well elsewhere; then where something sounds over a piece is left
    unknown.
    """
    if not unknown:
        return []
    known = [(m.take, m.lag) for m in matches if m.take != UNKNOWN]
    around = 0.0 if clean else AROUND_SECONDS
    length = work.bounce.size / work.rate
    wider = joined([(max(0.0, a - around), min(length, b + around)) for a, b in unknown])
    answers = []
    if not clean:  # else nothing was done to all pieces, and what answers is alike in itself
        sources = _sources(work, known, places, wider, pool)
        sure = [(m.first / work.rate, m.last / work.rate) for m in matches if m.take != UNKNOWN]
        answers = answering(work, wider, sources, pool, sure)
    found = [
        NotedStretch(a.start, a.end, a.take, a.source, 1.0, 0.0, a.believed, True, a.inverted)
        for a in answers
    ]
    rest = _without(wider, [(a.start, a.end) for a in answers])
    work.let_go()
    found += [
        NotedStretch(f.start, f.end, f.take, f.source, 1.0, 0.0, f.believed, True, f.inverted)
        for f in faintly(work, rest, known, places, pool)
    ]
    work.let_go()
    lags = {(take, round(lag / work.rate, 2)) for take, lag in known}
    out = []
    for one in sorted(found, key=lambda each: each.start):
        offset = one.source - one.start
        short = one.end - one.start < LEAST_CLEAN_SECONDS
        if clean and (short or (one.take, round(offset, 2)) in lags):
            continue
        # What is known besides stands; moments of it among the unknown do not.
        for start, end in joined(unknown):
            first, last = max(start, one.start), min(end, one.end)
            if last > first:
                out.append(one.between(first, last))
    return out


def homes(work: Work, matches: Sequence[SoundMatch]) -> list[int]:
    """For every take the lag (low samples) at which it is likeliest to stand."""
    out = []
    for take in range(len(work.takes)):
        used = Counter[int]()
        for m in matches:
            if m.take == take:
                used[round(m.lag / work.factor)] += m.last - m.first
        if used:
            out.append(used.most_common(1)[0][0])
        else:
            out.append(playing_home(work.low_bounce, work.low_takes[take], work.low_rate))
            work.let_go()
    return out


def _without(
    stretches: Sequence[tuple[float, float]], taken: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """What is left of stretches where others are taken out of them."""
    out = []
    for start, end in stretches:
        at = start
        for first, last in [*sorted(taken), (end, end)]:
            if last <= at or first > end:
                continue
            if first - at >= LEAST_SECONDS:
                out.append((at, first))
            at = max(at, last)
    return out


def _sources(
    work: Work,
    known: Sequence[tuple[int, int]],
    places: Sequence[Sequence[int]],
    unknown: Sequence[tuple[float, float]],
    pool: Executor,
) -> list[LaggedTake]:
    """Where takes may stand, the likeliest place of every take before the second of any."""
    much = sum(b - a for a, b in unknown) > MUCH * work.bounce.size / work.rate
    near = APART_SECONDS * work.low_rate

    def of(take: int) -> list[int]:
        lags = [round(lag / work.factor) for number, lag in known if number == take]
        sounds = work.low_bounce, work.low_takes[take], work.low_rate
        lags += answering_homes(*sounds, ANSWERED) if much else []
        lags += playing_homes(*sounds, PLAYED)
        lags += places[take][:1]
        work.let_go()
        kept: list[int] = []
        for lag in lags:
            if all(abs(lag - other) > near for other in kept):
                kept.append(lag)
        return kept[:MOST_PLACES]

    every = list(pool.map(of, range(len(work.takes))))
    ranked = [
        LaggedTake(take, lags[n])
        for n in range(MOST_PLACES)
        for take, lags in enumerate(every)
        if n < len(lags)
    ]
    return ranked[:MOST_SOURCES]
