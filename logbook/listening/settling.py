"""Step five of recovering a comp: what is still unknown or doubtful, followed near home.

What the path of long pieces left unknown, and where a known piece suddenly leaves more over than it
does elsewhere, is followed frame by frame (homing). What comes of it takes its place, each
piece at its own exact lag.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import replace

import numpy as np

from logbook.listening.candidates import COARSER, Work
from logbook.listening.edges import EXACT_LEFT, place_edges
from logbook.listening.fitting import BEFORE, STEP_16_BIT, Channel, SoundMatch, exact_lag
from logbook.listening.flattening import Sounds
from logbook.listening.homes import homes_of, playing_home
from logbook.listening.homing import (
    Home,
    TrackedSpan,
    track,
    usual_fit,
)
from logbook.listening.retracing import Retraced, join_same, same_place
from logbook.listening.signals import lowered, smoothed_power, zero_phase
from logbook.listening.tracing import UNKNOWN, TraceCandidate

AROUND_SECONDS = 0.12  # of what is known, either side of an open range, that is followed too
LEAST_OPEN_SECONDS = 0.04
SHORT_KNOWN_SECONDS = 1.2
LEAST_NOTHING_SECONDS = 0.12  # more than a stroke may hide for
NEAR_SECONDS = 0.03  # a home within this of another is the same
MOST_HOMES_A_TAKE = 4
MOST_KNOWN = 10
LONG_UNKNOWN_SECONDS = 0.5
LONG_SECONDS, LITTLE_UNKNOWN, OFTEN_SECONDS = 60.0, 0.1, 3.0
WHITE_TAPS = 255
TRACKED = 1000  # number of the first place found here


def settle(
    work: Work, traced: Retraced, tried: Sequence[TraceCandidate], pool: Executor
) -> list[SoundMatch]:
    """The matches with what was open followed near the homes of all takes.

    tried: the places the first path went through.
    """
    sounds = Sounds(work.low_bounce, work.low_takes, work.low_rate, _rounding(work))
    work.let_go()
    frame = sounds.hop * work.factor
    ranges = _open_ranges(traced, frame, sounds.frames, work.rate)
    ranges = [(a, b) for a, b in ranges if float(np.sum(sounds.weight[a:b])) * sounds.hop > 1]
    if not ranges:
        return traced.matches
    homes = _homes(work, traced.matches, tried, pool)
    if not homes:
        return traced.matches
    usual = usual_fit(sounds, _known(work, traced.matches, frame))
    used = [
        (Home(m.take, round(m.lag / work.factor)), (m.last - m.first) // frame)
        for m in traced.matches
        if m.take != UNKNOWN
    ]
    spans = track(sounds, homes, ranges, usual, used)
    kept = [
        r
        for r in ranges
        if _says_something_new(traced.matches, _inside(spans, r), frame, work)
        or _says_nothing(traced.doubtful, _inside(spans, r), frame, work.rate)
    ]
    if not kept:
        return traced.matches
    spans = [span for r in kept for span in _inside(spans, r)]
    joined = _put_in(traced.matches, spans, frame, work)
    channel = traced.channel or _plain_channel(work)
    clean = traced.channel is not None and traced.typical <= EXACT_LEFT
    left = EXACT_LEFT if clean else max(traced.typical, 1e-3)
    placed = place_edges(work, channel, joined, left)
    return _joins(joined, placed, clean=clean)


def usually_left(matches: Sequence[SoundMatch], typical: float) -> float:
    """Part of the sound (0 to 1) that the takes usually leave over in what settled.

    typical: the same on the path before. It is too high where that path ran across pieces it could
    not part: what was followed frame by frame since says how well takes fit there.
    """
    known = sorted(
        (1.0 - m.share if m.place == TRACKED else typical, m.last - m.first)
        for m in matches
        if m.take != UNKNOWN
    )
    total, so_far = sum(count for _, count in known), 0
    for left, count in known:
        so_far += count
        if so_far > 0.5 * total:
            return min(left, typical) if typical > 0.0 else left
    return typical


def _known(work: Work, matches: Sequence[SoundMatch], frame: int) -> list[tuple[Home, int, int]]:
    """Half seconds within the longest known pieces: their places, and ranges of frames."""
    half = round(0.25 * work.rate / frame)
    known = sorted((m for m in matches if m.take != UNKNOWN), key=lambda m: m.first - m.last)
    out = []
    for m in known[:MOST_KNOWN]:
        middle = (m.first + m.last) // 2 // frame
        first, last = max(m.first // frame, middle - half), min(m.last // frame, middle + half)
        if last - first > 4:
            out.append((Home(m.take, round(m.lag / work.factor)), first, last))
    return out


def _inside(spans: Sequence[TrackedSpan], frames: tuple[int, int]) -> list[TrackedSpan]:
    return [span for span in spans if frames[0] <= span.first < frames[1]]


def _says_something_new(
    matches: Sequence[SoundMatch], spans: Sequence[TrackedSpan], frame: int, work: Work
) -> bool:
    """Whether a span found comes from a place that the matches do not have there or beside it."""
    beside = round(AROUND_SECONDS * work.rate)
    for span in spans:
        if span.take < 0:
            continue
        first, last = span.first * frame - beside, span.last * frame + beside
        there = [m for m in matches if m.take == span.take and m.first < last and m.last > first]
        lag = span.lag * work.factor
        if not any(abs(m.lag - lag) <= 2 * work.factor for m in there):
            return True
        # The same piece, but over a good deal more than was known.
        covered = sum(min(m.last, last) - max(m.first, first) for m in there)
        if (span.last - span.first) * frame - covered > beside:
            return True
    return False


def _says_nothing(
    doubtful: Sequence[tuple[int, int]], spans: Sequence[TrackedSpan], frame: int, rate: int
) -> bool:
    """Whether where a piece was doubtful for a while (samples) no place was found at all."""
    least = LEAST_NOTHING_SECONDS * rate
    return any(
        min(b, span.last * frame) - max(a, span.first * frame) >= least
        for a, b in doubtful
        for span in spans
        if span.take < 0
    )


def _joins(
    before: Sequence[SoundMatch], placed: Sequence[SoundMatch], *, clean: bool
) -> list[SoundMatch]:
    """Joins between two takes where they were placed, those beside the unknown where they were.

    clean: takes leave hardly anything over where they fit. Then a piece beside the unknown ends
    where it leaves more, be it like what follows: low notes that die away are.
    """
    out = list(placed)
    for n in range(len(out) - 1):
        at, found = before[n].last, placed[n].last
        if UNKNOWN in (out[n].take, out[n + 1].take):
            shorter = found < at if out[n + 1].take == UNKNOWN else found > at
            at = found if clean and shorter else at
            out[n] = replace(out[n], last=at)
            out[n + 1] = replace(out[n + 1], first=at)
    return out


def _rounding(work: Work) -> float:
    """Power that rounding the bounce to 16 bits leaves in its flat low signal."""
    part = work.bounce[: 1 << 20]
    low = lowered(part, work.factor)
    flat = work.low_bounce[: low.size]
    gain = float(np.vdot(flat, flat)) / (float(np.vdot(low, low)) + 1e-20)
    return STEP_16_BIT**2 / 12 / work.factor * gain


def _open_ranges(traced: Retraced, frame: int, frames: int, rate: int) -> list[tuple[int, int]]:
    """Ranges of frames to follow: unknown ones and doubtful ones, with something around them."""
    around = round(AROUND_SECONDS * rate)
    least = LEAST_OPEN_SECONDS * rate
    wanted = [(m.first, m.last) for m in traced.matches if m.take == UNKNOWN]
    # Between short pieces of places in use there may be shorter ones yet, in what is hardly heard.
    wanted += [
        (m.first, m.last)
        for n, m in enumerate(traced.matches)
        if m.take != UNKNOWN
        and m.last - m.first < SHORT_KNOWN_SECONDS * rate
        and any(same_place(m, o) for k, o in enumerate(traced.matches) if k != n)
    ]
    wanted = sorted((a, b) for a, b in [*wanted, *traced.doubtful] if b - a >= least)
    out: list[tuple[int, int]] = []
    for a, b in wanted:
        first, last = max(0, a - around) // frame, min(frames, (b + around) // frame + 1)
        if out and first <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], last))
        elif last > first:
            out.append((first, last))
    return out


def _homes(
    work: Work,
    matches: Sequence[SoundMatch],
    tried: Sequence[TraceCandidate],
    pool: Executor,
) -> list[Home]:
    """Where each take is known to stand, the most used first, and where it is likeliest to."""
    used: list[Counter[int]] = [Counter() for _ in work.takes]
    for m in matches:
        if m.take != UNKNOWN:
            used[m.take][round(m.lag / work.factor)] += m.last - m.first
    unknown = sum(m.last - m.first for m in matches if m.take == UNKNOWN)
    everywhere = unknown > LONG_UNKNOWN_SECONDS * work.rate
    long = work.bounce.size > LONG_SECONDS * work.rate
    little = long and unknown < LITTLE_UNKNOWN * work.bounce.size
    coarse = lowered(work.low_bounce, COARSER) if long else None

    def look(take: int) -> list[int]:
        # Where only a few frames are doubtful, what is known of a take is enough; where they are
        # few beside the whole, what is known of one often used.
        often = sum(used[take].values()) > OFTEN_SECONDS * work.low_rate * work.factor
        if used[take] and ((often and little) or not everywhere):
            return []
        if coarse is None:
            return homes_of(work.low_bounce, work.low_takes[take], work.low_rate)
        found = homes_of(coarse, work.coarse_takes[take], work.low_rate / COARSER)
        return [COARSER * lag for lag in found]

    looked = list(pool.map(look, range(len(work.low_takes))))
    near = round(NEAR_SECONDS * work.low_rate)
    out: list[Home] = []
    for take, (known, found) in enumerate(zip(used, looked, strict=True)):
        lags: list[int] = []
        guesses = [lag for lag, _ in known.most_common(MOST_HOMES_A_TAKE - 1)]
        if not guesses:
            # It may serve for a few syllables only: then the playing says where it stands.
            guesses = [round(one.lag / work.factor) for one in tried if one.take == take]
            guesses.append(playing_home(work.low_bounce, work.low_takes[take], work.low_rate))
        for lag in [*guesses, *found]:
            if all(abs(lag - other) > near for other in lags):
                lags.append(lag)
        out += [Home(take, lag) for lag in lags[:MOST_HOMES_A_TAKE]]
    return out


def _put_in(
    matches: Sequence[SoundMatch], spans: Sequence[TrackedSpan], frame: int, work: Work
) -> list[SoundMatch]:
    """The matches with the spans in their place, at exact lags, neighbours that go on joined."""
    total = work.bounce.size
    found: list[SoundMatch] = []
    for span in spans:
        first, last = span.first * frame, min(total, span.last * frame)
        if total - last < frame:
            last = total
        if span.take < 0:
            found.append(SoundMatch(first, last, UNKNOWN, 0, UNKNOWN))
            continue
        lag = span.lag * work.factor
        share = float(min(1.0, span.fit**2))
        match = SoundMatch(first, last, span.take, lag, TRACKED, float(lag), share)
        found.append(_exact(work, match, matches))
    kept: list[SoundMatch] = []
    for m in matches:
        at = m.first
        for f in found:
            if f.last <= at or f.first >= m.last:
                continue
            if f.first > at:
                kept.append(replace(m, first=at, last=f.first))
            at = max(at, f.last)
        if at < m.last:
            kept.append(replace(m, first=at, last=m.last))
    every = sorted([*found, *kept], key=lambda m: m.first)
    return join_same(_without_holes([m for m in every if m.last > m.first], work))


def _exact(work: Work, match: SoundMatch, known: Sequence[SoundMatch]) -> SoundMatch:
    """The match at its exact lag: that of a known piece where it is the same place."""
    beside = work.rate // 5
    for m in known:
        same = m.take == match.take and abs(m.lag - match.lag) <= 2 * work.factor
        if same and m.first < match.last + beside and match.first < m.last + beside:
            return replace(match, lag=m.lag, place=m.place, exact=m.exact)
    length = match.last - match.first
    size = 1 << max(8, int(np.log2(max(256, min(length // 2, work.rate // 4)))))
    room = max(0, length - size)
    count = max(3, min(16, 2 * room // size + 1))
    starts = [match.first + round(room * n / (count - 1)) for n in range(count)]
    take = work.takes[match.take]
    lag = exact_lag(work.bounce, take, match.lag, starts, 2 * work.factor, size)
    return replace(match, lag=round(lag), exact=lag)


def _without_holes(matches: Sequence[SoundMatch], work: Work) -> list[SoundMatch]:
    """Short unknown stretches between pieces of one place, and scraps at joins, closed."""
    out = list(matches)
    scrap = round(0.05 * work.rate)
    for n, m in enumerate(out):
        if m.take != UNKNOWN or m.last - m.first > scrap or not 0 < n < len(out) - 1:
            continue
        before, after = out[n - 1], out[n + 1]
        if before.take == UNKNOWN or after.take == UNKNOWN:
            continue
        middle = m.last if same_place(before, after) else (m.first + m.last) // 2
        out[n - 1] = replace(before, last=middle)
        out[n] = replace(after, first=middle, last=m.last)
    return [m for m in out if m.last > m.first]


def _plain_channel(work: Work) -> Channel:
    """A channel that does nothing, for edges where none could be fitted."""
    taps = np.zeros(BEFORE + 64, dtype=np.float32)
    taps[BEFORE] = 1.0
    power = smoothed_power(work.bounce)
    white = zero_phase(WHITE_TAPS, 1.0 / np.sqrt(power + 1e-4 * float(np.max(power)) + 1e-20))
    return Channel(taps=taps, white=white, noise=0.0)
