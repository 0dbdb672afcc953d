"""The comp worked out from the sound: which take, from where, for every moment of the bounce.

In four steps. (1) Blocks of the bounce are looked up in all takes at a low rate (searching).
(2) Places that explain a good stretch of it are believed, at their exact lag, and a first path
is traced through them (candidates, tracing). (3) What was done to the takes is fitted, and the
path traced again at full rate on what is left over, which also tells what no take explains
(fitting). (4) Edit points are set to the millisecond (edges).

Lags are exact to the sample of the take; a bounce at another rate is brought to the takes' rate
first. Nothing is reported for which the evidence is only likeness: another performance of the
same bars leaves most of the bounce over, the right take leaves little.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from logbook.listening.candidates import (
    UNKNOWN_SCORE,
    Believed,
    Work,
    believe,
    loudness_weight,
)
from logbook.listening.decoding import Sound, decode
from logbook.listening.edges import place_edges
from logbook.listening.extra import ListeningError
from logbook.listening.fitting import Channel, Match, fit_channel, fitted_frames
from logbook.listening.pieces import Piece
from logbook.listening.signals import Samples, cut, lowered, resampled, whitened
from logbook.listening.tracing import UNKNOWN, Scores, Span, best_path, framed, score, spans, weighed

HIGHEST_RATE = 50_000
LOW_RATE = 11_025
BAND = 0.5  # of the low rate's Nyquist frequency
LEAST_SECONDS = 1.0
SILENT = 1e-4  # peak, full scale 1.0
WORKERS = 2
FINE_SECONDS = 0.010
FINE_COST = 8.0
FINE_GAIN_FRAMES = (21, 5)
LEAST_RUN_SECONDS = 1.2
LEAST_SHARE = 0.92  # of a stretch under PATCHY_SECONDS that its take must explain
PATCHY_SECONDS = 4.0
LONGER_SECONDS = 6.0
WORST_TYPICAL = 0.6
LEAST_ALONE_SECONDS = 0.5  # between two stretches of unknown
AROUND_SECONDS = 0.75  # either side of its first span that a place is tried again


def recover(bounce: Path, takes: Sequence[Path]) -> list[Piece]:
    """See `logbook.listening.recover_comp`."""
    if not takes:
        raise ListeningError("no takes were given", "name at least one take to look for")
    with ThreadPoolExecutor(WORKERS) as pool:
        sounds = list(pool.map(decode, [bounce, *takes]))
        _check(sounds)
        work = _prepare(sounds, pool)
        found, weight = believe(work, pool)
        found, matches = _trace(work, found, weight)
        if any(match.take != UNKNOWN for match in matches):
            matches = _trace_again(work, found, matches, pool)
    return _pieces(work, sounds, found, matches)


def _check(sounds: Sequence[Sound]) -> None:
    bounce, *takes = sounds
    if bounce.seconds < LEAST_SECONDS:
        raise ListeningError(
            f"{bounce.path.name} is only {bounce.seconds:.2f} s long",
            "give a bounce of at least a bar",
        )
    for sound, what in ((bounce, "bounce"), *((take, "take") for take in takes)):
        if sound.rate < 4000:
            raise ListeningError(
                f"{sound.path.name} has a sample rate of {sound.rate} Hz",
                f"give a {what} of 8000 Hz or more",
            )
    if _silent(bounce):
        raise ListeningError(f"{bounce.path.name} is silent", "give a bounce with sound in it")
    if all(_silent(take) for take in takes):
        raise ListeningError("all the takes are silent", "give takes with sound in them")


def _silent(sound: Sound) -> bool:
    samples = sound.samples
    return max(float(np.max(samples)), -float(np.min(samples))) < SILENT


def _prepare(sounds: Sequence[Sound], pool: Executor) -> Work:
    """Bring all sounds to one rate, the takes' (halved above 50 kHz), and to a low one."""
    rate = Counter(sound.rate for sound in sounds[1:]).most_common(1)[0][0]
    while rate > HIGHEST_RATE:
        rate //= 2
    factor = max(1, round(rate / LOW_RATE))

    def both(sound: Sound) -> tuple[Samples, Samples]:
        full = resampled(sound.samples, sound.rate, rate)
        return full, whitened(lowered(full, factor), upper=BAND)

    prepared = list(pool.map(both, sounds))
    return Work(
        rate=rate,
        factor=factor,
        bounce=prepared[0][0],
        takes=[full for full, _ in prepared[1:]],
        low_bounce=prepared[0][1],
        low_takes=[low for _, low in prepared[1:]],
    )


def _entry(evidence: Sequence[float], scale: float) -> Samples:
    """What it costs to change to each place, by the seconds it is known to explain; last unknown."""
    costs = [scale * (1.5 if seconds > 3.0 else 4.0) for seconds in evidence]
    return np.array([*costs, scale], dtype=np.float32)


def _trace(work: Work, found: list[Believed], weight: Samples) -> tuple[list[Believed], list[Match]]:
    """The first path, as matches in full-rate samples that cover the bounce.

    A place that nowhere holds for longer than a note or two is no place: another performance of
    the same notes agrees by chance for that long. Those are left out and the path traced anew.
    """
    frame = work.frame * work.factor
    least = min(LEAST_RUN_SECONDS, 0.5 * work.bounce.size / work.rate)
    while True:
        scores = [weighed(one.scores, weight) for one in found]
        scores.append(weight * np.float32(UNKNOWN_SCORE))
        long = [float(np.sum(one.scores > 0.7)) * work.frame_seconds for one in found]
        path = best_path(np.stack(scores, axis=1), _entry(long, 1.0), 1.0)
        traced = spans(path, len(found))
        longest = [0.0] * len(found)
        for span in traced:
            if span.state != UNKNOWN:
                seconds = (span.last - span.first) * work.frame_seconds
                longest[span.state] = max(longest[span.state], seconds)
        kept = [one for one, seconds in zip(found, longest, strict=True) if seconds >= least]
        if len(kept) == len(found):
            return found, _as_matches(traced, found, frame, work.bounce.size)
        found = kept


def _as_matches(
    traced: Sequence[Span], found: Sequence[Believed], frame: int, total: int
) -> list[Match]:
    out = []
    for span in traced:
        last = total if span is traced[-1] else span.last * frame
        place = span.state
        take = UNKNOWN if place == UNKNOWN else found[place].candidate.take
        lag = 0 if place == UNKNOWN else found[place].candidate.lag
        out.append(Match(span.first * frame, last, take, lag, place))
    return out


def _inner(match: Match, margin: int) -> Match:
    return replace(match, first=match.first + margin, last=match.last - margin)


def _trace_again(
    work: Work, found: Sequence[Believed], matches: Sequence[Match], pool: Executor
) -> list[Match]:
    """The path once more, at full rate, on what the fitted takes leave over."""
    sure = [_inner(m, round(0.1 * work.rate)) for m in matches if m.take != UNKNOWN]
    sure = [m for m in sure if m.last - m.first >= round(0.2 * work.rate)]
    if not sure:
        return [Match(0, work.bounce.size, UNKNOWN, 0, UNKNOWN)]
    channel = fit_channel(work.bounce, work.takes, sure)
    frame = round(FINE_SECONDS * work.rate)
    count = work.bounce.size // frame
    used = sorted({m.place for m in matches if m.place != UNKNOWN})
    ranges = {place: _ranges(matches, place, work, frame) for place in used}
    energy = np.zeros(count, dtype=np.float32)
    jobs = [(place, span) for place in used for span in ranges[place]]

    def frames_of(job: tuple[int, tuple[int, int]]):  # noqa: ANN202
        place, (first, last) = job
        one = found[place].candidate
        match = Match(first * frame, last * frame, one.take, one.lag, place)
        return fitted_frames(work.bounce, work.takes[one.take], match, channel, frame)

    results = list(pool.map(frames_of, jobs))
    for (_, (first, last)), frames in zip(jobs, results, strict=True):
        energy[first:last] = frames.bounce
    quiet = channel.noise * frame + 1e-7 * float(np.quantile(energy, 0.95)) + 1e-12
    weight = loudness_weight(energy, quiet, round(2.0 / FINE_SECONDS) | 1)
    scores = np.full((count, len(used)), -1.0, dtype=np.float32)
    for (place, (first, last)), frames in zip(jobs, results, strict=True):
        scores[first:last, used.index(place)] = score(
            frames, quiet=quiet, best=1e-5, widths=FINE_GAIN_FRAMES
        )
    typical = _typical(scores, matches, used, frame, weight)
    if typical > WORST_TYPICAL:
        return [Match(0, work.bounce.size, UNKNOWN, 0, UNKNOWN)]
    most = float(np.log(1.0 / max(typical / 3, 1e-4)))
    np.minimum(scores, most, out=scores)
    limit = float(np.clip(typical**0.4, 0.03, 0.6))
    # In what is hardly louder than noise even the right take leaves a good part over.
    reachable = np.log((energy + quiet) / (typical * energy + quiet))
    unknown = np.minimum(0.4 * reachable, np.log(1.0 / limit)).astype(np.float32)[:, None]
    long = [float(np.sum(scores[:, [i]] > unknown)) * FINE_SECONDS for i in range(len(used))]
    path = best_path(
        weighed(np.concatenate([scores, unknown], axis=1), weight[:, None]),
        _entry(long, FINE_COST),
        FINE_COST,
    )
    traced = [
        Span(s.first, s.last, UNKNOWN if s.state == UNKNOWN else used[s.state])
        for s in spans(path, len(used))
    ]
    again = _as_matches(traced, found, frame, work.bounce.size)
    fits = scores > unknown
    fitting = [_fit_share(m, fits, weight, used, frame) for m in again]
    believed = _without_scraps(fitting, work.rate, typical)
    return place_edges(work, channel, believed, typical)


def _fit_share(
    match: Match, fits: npt.NDArray[np.bool_], weight: Samples, used: Sequence[int], frame: int
) -> Match:
    """The match with the share of its sound, by weight, that the take explains."""
    if match.place == UNKNOWN:
        return match
    here = slice(match.first // frame, match.last // frame)
    fit = fits[here, used.index(match.place)]
    total = float(np.sum(weight[here]))
    share = float(np.sum(weight[here] * fit)) / total if total > 0.0 else 1.0
    return replace(match, share=share)


def _without_scraps(matches: Sequence[Match], rate: int, typical: float) -> list[Match]:
    """Matches too short to be believed made unknown; the worse takes fit, the longer they must."""
    longest: dict[int, int] = {}
    for m in matches:
        longest[m.place] = max(longest.get(m.place, 0), m.last - m.first)
    total = matches[-1].last
    least = min((LEAST_RUN_SECONDS + LONGER_SECONDS * typical) * rate, 0.5 * total)
    alone = min(LEAST_ALONE_SECONDS * rate, 0.5 * total)
    out: list[Match] = []
    for n, m in enumerate(matches):
        before = n == 0 or matches[n - 1].take == UNKNOWN
        after = n == len(matches) - 1 or matches[n + 1].take == UNKNOWN
        length = m.last - m.first
        alone_and_short = before and after and length < alone
        patchy = m.share < LEAST_SHARE and length < PATCHY_SECONDS * rate
        if m.take != UNKNOWN and (alone_and_short or patchy or longest[m.place] < least):
            m = Match(m.first, m.last, UNKNOWN, 0, UNKNOWN)
        if out and out[-1].place == m.place:
            out[-1] = replace(out[-1], last=m.last)
        else:
            out.append(m)
    return out


def _ranges(
    matches: Sequence[Match], place: int, work: Work, frame: int
) -> list[tuple[int, int]]:
    """Frames around the spans of a place, overlapping ones joined."""
    around = round(AROUND_SECONDS * work.rate)
    out: list[tuple[int, int]] = []
    for match in matches:
        if match.place != place:
            continue
        first = max(0, match.first - around) // frame
        last = min(work.bounce.size, match.last + around) // frame
        if out and first <= out[-1][1]:
            out[-1] = (out[-1][0], last)
        else:
            out.append((first, last))
    return out


def _typical(
    scores: Scores, matches: Sequence[Match], used: Sequence[int], frame: int, weight: Samples
) -> float:
    """The part of the bounce that is usually left over where a take fits."""
    parts = [
        scores[m.first // frame : m.last // frame, used.index(m.place)]
        for m in matches
        if m.place != UNKNOWN
    ]
    loud = [
        weight[m.first // frame : m.last // frame] > 0.3 for m in matches if m.place != UNKNOWN
    ]
    chosen = np.concatenate([p[k[: p.size]] for p, k in zip(parts, loud, strict=True)])
    return float(np.exp(-np.quantile(chosen, 0.6))) if chosen.size else 1.0


def _pieces(
    work: Work, sounds: Sequence[Sound], found: Sequence[Believed], matches: Sequence[Match]
) -> list[Piece]:
    out: list[Piece] = []
    length = sounds[0].seconds
    for number, match in enumerate(matches):
        start = match.first / work.rate
        end = length if number == len(matches) - 1 else match.last / work.rate
        if match.take == UNKNOWN:
            out.append(
                Piece(start=start, end=end, source=0.0, take=None, gain_db=0.0, confidence=1.0)
            )
            continue
        gain = _gain(work, match)
        lag = _lag_seconds(found[match.place].exact, work.rate, sounds[1 + match.take].rate)
        out.append(
            Piece(
                start=start,
                end=end,
                source=start + lag,
                take=match.take,
                gain_db=float(20 * np.log10(max(abs(gain), 1e-6))),
                confidence=round(match.share, 3),
                inverted=gain < 0,
            )
        )
    return out


def _lag_seconds(exact: float, rate: int, take_rate: int) -> float:
    """Seconds of a lag: on the take's own sample grid when it is as good as on it."""
    samples = exact * take_rate / rate
    return (round(samples) if abs(samples - round(samples)) < 0.25 else samples) / take_rate


def _gain(work: Work, match: Match) -> float:
    """Signed gain of the take in the bounce: the median over short frames, by energy."""
    frame = round(0.05 * work.rate)
    part = cut(work.bounce, match.first, match.last - match.first)
    if part.size < frame:
        frame = max(1, part.size)
    frames = framed(part, work.takes[match.take], match.first + match.lag, frame)
    gains = frames.product / (frames.take + np.float32(1e-12))
    order = np.argsort(gains)
    total = np.cumsum(frames.take[order])
    if total.size == 0 or total[-1] <= 0.0:
        return 1.0
    return float(gains[order][int(np.searchsorted(total, 0.5 * total[-1]))])
