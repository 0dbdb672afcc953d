"""The comp worked out from the sound: which take, from where, for every moment of the bounce.

In five steps. (1) Blocks of the bounce are looked up in all takes at a low rate (searching).
(2) Places that explain a good stretch of it are believed, at their exact lag, and a first path
is traced through them (candidates, tracing). (3) What was done to the takes is fitted, and the
path traced again at full rate on what is left over, which also tells what no take explains
(fitting). (4) Edit points are set to the millisecond (edges). (5) What is still unknown or does
not fit is followed in time, close to where each take stands (settling, homing).

Lags are exact to the sample of the take; a bounce at another rate is brought to the takes' rate
first. Nothing is reported for which the evidence is only likeness: another performance of the
same bars leaves most of the bounce over, the right take leaves little.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from logbook.listening.blending import with_fades
from logbook.listening.candidates import UNKNOWN_SCORE, Believed, Work, believe
from logbook.listening.channels import other_channels
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.extra import ListeningError
from logbook.listening.fitting import Channel, SoundMatch
from logbook.listening.noted import by_notes
from logbook.listening.noted_pieces import going_on, with_noted
from logbook.listening.odds import independent_samples, worth
from logbook.listening.odds import standing as standing_places
from logbook.listening.pieces import AlsoIn, Piece, Pieces
from logbook.listening.preparing import BAND, check_sounds, prepare, without_offset
from logbook.listening.remaining import homes, remaining
from logbook.listening.retracing import trace_again, tried
from logbook.listening.rivals import Rival, Rivalry, compare
from logbook.listening.sectioning import sections, sewn
from logbook.listening.settling import settle, usually_left
from logbook.listening.shelving import shelf_for
from logbook.listening.signals import (
    Samples,
    cut,
    lowered,
    resampled,
    smoothed_power,
    whitened,
)
from logbook.listening.speeds import at_speed, drift_of, rough_speed
from logbook.listening.standing import standing
from logbook.listening.sureness import of_nothing, of_share
from logbook.listening.tracing import (
    UNKNOWN,
    FrameSpan,
    best_path,
    entry_costs,
    framed,
    spans,
    weighed,
)

MUCH_UNKNOWN, FINER = 0.5, 2
STROKES = 0.25  # of a bounce: so much may be known where only strokes stand out of the rest
LITTLE_UNKNOWN, LITTLE_LEFT = 0.1, 0.1  # of the bounce: more asks for another way of listening
WORKERS = 2


def recover(bounce: Path, takes: Sequence[Path]) -> Pieces:
    """See `logbook.listening.recover_comp`."""
    if not takes:
        raise ListeningError("no takes were given", "name at least one take to look for")
    shelf = shelf_for([bounce, *takes])
    with ThreadPoolExecutor(WORKERS) as pool:
        sounds = list(pool.map(partial(decode, shelf=shelf), [bounce, *takes]))
        check_sounds(sounds)
        heard = _heard(sounds, prepare(sounds, pool, shelf), pool)
        if any(each.doubtful for each in heard) and any(sound.wide for sound in sounds):
            ready = partial(prepare, shelf=shelf)
            other = other_channels(sounds, heard[0].whole, ready, pool, shelf)
            if other is not None:
                heard = min(heard, _heard(*other, pool), key=_unexplained)
        told = [_told(each, pool) for each in heard]
    comps = {take: made for _, _, compared in told for take, made in compared.items()}
    return Pieces(sewn([(at, pieces) for at, pieces, _ in told]), comps)


def _heard(sounds: Sequence[DecodedSound], work: Work, pool: Executor) -> list[Recovery]:
    """A bounce heard section by section."""
    bounce, *takes = sounds
    spans_s = sections(bounce.seconds)
    if len(spans_s) == 1:
        return [listen(sounds, work, pool)]
    out = []
    for start, end in spans_s:
        first, last = (round(each * work.low_rate) for each in (start, end))
        full = slice(first * work.factor, last * work.factor)
        at = full.start / work.rate
        own = slice(round(at * bounce.rate), round(full.stop / work.rate * bounce.rate))
        part = replace(work, bounce=work.bounce[full], low_bounce=work.low_bounce[first:last])
        section = replace(bounce, samples=bounce.samples[own])
        heard = listen([section, *takes], part, pool)
        out.append(replace(heard, at=at, whole=work))
        work.let_go()
    return out


def _unexplained(heard: Sequence[Recovery]) -> float:
    return sum(each.unexplained * each.work.bounce.size for each in heard)


def _told(heard: Recovery, pool: Executor) -> tuple[float, list[Piece], dict[int, tuple[int, ...]]]:
    """Where a section begins (seconds), its pieces, and the takes that are comps."""
    length = heard.sounds[0].seconds
    heard = _at_its_speed(heard, pool)
    work = heard.work
    faded = with_fades(work, heard.matches, heard.channel, pool)
    compared = compare(work, faded, heard.places, pool)
    pieces = _pieces(heard, compared, length)
    unknown = [
        (piece.start / heard.speed, piece.end / heard.speed)
        for piece in pieces
        if piece.take is None
    ]
    left = remaining(work, compared.matches, heard.places, unknown, clean=heard.clean, pool=pool)
    pieces = with_noted(pieces, left, heard.speed)
    pieces = going_on(pieces)
    unknown = [
        (piece.start / heard.speed, piece.end / heard.speed)
        for piece in pieces
        if piece.take is None
    ]
    noted = by_notes(work, unknown, homes(work, compared.matches), pool)
    work.let_go()
    return heard.at, with_noted(pieces, noted, heard.speed, clean=heard.clean), compared.comps


def _at_its_speed(heard: Recovery, pool: Executor) -> Recovery:
    """The same, heard at the takes' own speed where the bounce runs at another."""
    rough = rough_speed(heard.work, pool) if heard.unexplained > MUCH_UNKNOWN else None
    if rough is not None:
        again = _slower(heard, rough, pool)
        heard = again if again.unexplained < 0.5 * heard.unexplained else heard
    for _ in range(FINER):
        drift = drift_of(heard.work, heard.matches)
        if drift == 0.0:
            break
        again = _slower(heard, heard.speed / (1.0 + drift), pool)
        if again.unexplained > heard.unexplained:
            break
        heard = again
    return heard


def _slower(heard: Recovery, speed: float, pool: Executor) -> Recovery:
    bounce, *takes = heard.sounds
    work = heard.work
    bounce = replace(bounce, samples=at_speed(heard.original, speed))
    full = resampled(without_offset(bounce.samples), bounce.rate, work.rate)
    low = lowered(full, work.factor)
    flat = whitened(low, smoothed_power(low), upper=BAND)
    again = listen([bounce, *takes], replace(work, bounce=full, low_bounce=flat), pool)
    return replace(again, original=heard.original, speed=speed, at=heard.at, whole=heard.whole)


@dataclass(frozen=True, slots=True)
class Recovery:
    """What was heard in one way of listening.

    unexplained: part of the bounce's samples for which no take fits. typical: part of the sound
    that is usually left over where one does. speed: bounce time over take time; the samples of the
    bounce were brought to the takes' from the `original` ones. at: where in the bounce this section
    begins, seconds; places: where the takes stand out of it; whole: the sounds it is a section of.
    """

    sounds: Sequence[DecodedSound]
    work: Work
    matches: Sequence[SoundMatch]
    typical: float
    original: Samples
    channel: Channel | None
    places: Sequence[Sequence[int]]
    whole: Work
    speed: float = 1.0
    at: float = 0.0

    @property
    def unexplained(self) -> float:
        """Part of the bounce, 0 to 1."""
        unknown = sum(m.last - m.first for m in self.matches if m.take == UNKNOWN)
        return unknown / max(1, self.work.bounce.size)

    @property
    def clean(self) -> bool:
        """Whether takes fit well where they are known, which is more than for a stroke at times."""
        return self.typical <= LITTLE_LEFT and self.unexplained < 1.0 - STROKES

    @property
    def doubtful(self) -> bool:
        """Whether another way of listening may explain more."""
        return self.unexplained > LITTLE_UNKNOWN or self.typical > LITTLE_LEFT


def listen(sounds: Sequence[DecodedSound], work: Work, pool: Executor) -> Recovery:
    """The five steps, on sounds that were made ready."""
    places = standing(work, pool)
    work.let_go()
    found, weight = believe(work, places, pool)
    found, matches = trace(work, found, weight)
    traced = trace_again(work, matches, pool)
    settled = settle(work, traced, [one.candidate for one in found], pool)
    typical = usually_left(settled, traced.typical)
    channel, own = traced.channel, sounds[0].samples
    return Recovery(sounds, work, settled, typical, own, channel, places, work)


def trace(
    work: Work, found: list[Believed], weight: Samples
) -> tuple[list[Believed], list[SoundMatch]]:
    """The first path, as matches in full-rate samples that cover the bounce.

    A place that is no likelier than one of so many is by chance is not a place: another performance
    of the same notes agrees for a note or two. Those are left out and the path traced anew.
    """
    frame = work.frame * work.factor
    while True:
        scores = [weighed(one.scores, weight) for one in found]
        scores.append(weight * np.float32(UNKNOWN_SCORE))
        long = [float(np.sum(one.scores > 0.7)) * work.frame_seconds for one in found]
        path = best_path(np.stack(scores, axis=1), entry_costs(np.array(long), 1.0), 1.0)
        traced = spans(path, len(found))
        known = [span for span in traced if span.state != UNKNOWN]
        gained = [_worth(work, found[span.state], weight, span) for span in known]
        good = standing_places([span.state for span in known], gained, tried(work))
        kept = {span.state for span, stands in zip(known, good, strict=True) if stands}
        if len(kept) == len(found):
            return found, _as_matches(traced, found, frame, work.bounce.size)
        found = [one for n, one in enumerate(found) if n in kept]


def _worth(work: Work, one: Believed, weight: Samples, span: FrameSpan) -> float:
    """What a stretch of the first path says for its place, log likelihood ratio."""
    here = slice(span.first, span.last)
    sound = work.low_bounce[span.first * work.frame : span.last * work.frame]
    better = one.scores[here] - UNKNOWN_SCORE
    return float(np.sum(worth(better, weight[here], independent_samples(sound))))


def _as_matches(
    traced: Sequence[FrameSpan], found: Sequence[Believed], frame: int, total: int
) -> list[SoundMatch]:
    out: list[SoundMatch] = []
    for span in traced:
        last = total if span is traced[-1] else span.last * frame
        place = span.state
        if place == UNKNOWN:
            out.append(SoundMatch(span.first * frame, last, UNKNOWN, 0, UNKNOWN))
            continue
        one = found[place]
        at = one.candidate
        out.append(SoundMatch(span.first * frame, last, at.take, at.lag, place, one.exact))
    return out


def _pieces(heard: Recovery, compared: Rivalry, length: float) -> list[Piece]:
    """What was heard in seconds of the bounce, which lasts `length`."""
    out: list[Piece] = []
    work, matches = heard.work, compared.matches
    for number, (match, rivals) in enumerate(zip(matches, compared.rivals, strict=True)):
        start = match.first / work.rate
        end = length if number == len(matches) - 1 else match.last / work.rate * heard.speed
        at = start * heard.speed
        if match.take == UNKNOWN:
            sure = of_nothing(end - at)
            out.append(
                Piece(start=at, end=end, source=0.0, take=None, gain_db=0.0, confidence=sure)
            )
            continue
        gain = _gain(work, match)
        lag = _lag_seconds(match, work, heard.sounds[1 + match.take])
        out.append(
            Piece(
                start=at,
                end=end,
                source=start + lag,
                take=match.take,
                gain_db=float(20 * np.log10(max(abs(gain), 1e-6))),
                confidence=of_share(match.share),
                inverted=gain < 0,
                stretch=heard.speed,
                fade=round(match.fade / work.rate * heard.speed, 3),
                also=tuple(_also(heard, rival, start) for rival in rivals),
            )
        )
    return out


def _also(heard: Recovery, rival: Rival, start: float) -> AlsoIn:
    """A rival of a piece that begins at `start` seconds of the bounce at the takes' speed."""
    lag = _seconds_of(rival.lag, heard.work, heard.sounds[1 + rival.take])
    return AlsoIn(rival.take, start + lag)


def _lag_seconds(match: SoundMatch, work: Work, take: DecodedSound) -> float:
    """Seconds of a lag: on the take's own sample grid when it is as good as on it."""
    return match.lag / work.rate if take.rate == work.rate else _seconds_of(match.exact, work, take)


def _seconds_of(lag: float, work: Work, take: DecodedSound) -> float:
    samples = lag * take.rate / work.rate
    return (round(samples) if abs(samples - round(samples)) < 0.25 else samples) / take.rate


def _gain(work: Work, match: SoundMatch) -> float:
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
