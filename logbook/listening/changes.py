"""Where the chord changes on the beat grid, and what sounds in each stretch between.

Every bar is cut into beats in every way there is, and each piece is heard as if one chord filled
it. A beat speaks against the chord of its piece with every note it has that the chord has not, and
a little with every note of the chord that it lacks, since a beat of picking is not the whole
chord. The bar is cut the way that has the least against it, each change inside the bar having its
price; the prices were set on rendered material. Neighbours with the same notes are one stretch.
Then all stretches are heard together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from logbook.listening.choosing import best_alone, indicator
from logbook.listening.decoding import decode
from logbook.listening.extra import ListeningError
from logbook.listening.grips import pitches_of
from logbook.listening.heard import AskedHearing, HeardSpan, asked_for
from logbook.listening.hearing import Ear, sounding_spans, told
from logbook.listening.onsets import onset_curve, onsets
from logbook.listening.signals import Samples
from logbook.timing import BarRange, TempoMap

Spans = list[tuple[float, float]]

CHANGE = 8.0
SURE = 4.0  # the logarithm of odds, beyond which a note is not surer
ABSENT = 0.1  # what a note of the chord that a beat lacks weighs against one that it has too much
MOST_BEATS = 8  # a longer bar may change on every second beat only
SHORTEST_S = 0.2


def hear(
    audio: Path,
    tempo_map: TempoMap,
    *,
    open_strings: Sequence[int],
    capo: int = 0,
    covers: BarRange | None = None,
    music_at_s: float | None = None,
    logged: Sequence[Sequence[int | None]] | None = None,
) -> tuple[HeardSpan, ...]:
    """See `logbook.listening.hear_chords`."""
    sound = decode(audio)
    asked = asked_for((), open_strings, capo, logged, sound.seconds)
    if music_at_s is None:
        music_at_s = first_onset(sound.samples, sound.rate)
    bars = beat_grid(tempo_map, sound.seconds, covers, music_at_s)
    if not bars:
        raise ListeningError(
            f"the file ends before a beat of the music, which begins at {music_at_s:.2f} s",
            f"give a beginning within the {sound.seconds:.2f} s of the file",
        )
    ear = Ear(sound.samples, sound.rate)
    spans = _joined(asked, ear, _cut(asked, ear, bars))
    return together(told(replace(asked, spans=tuple(spans)), ear))


def first_onset(samples: Samples, rate: int) -> float:
    """Seconds at which the first note begins; 0 where none is found."""
    times, _ = onsets(onset_curve(samples, rate))
    return float(times[0]) if times.size else 0.0


def beat_grid(
    tempo_map: TempoMap, seconds: float, covers: BarRange | None, music_at_s: float
) -> list[list[float]]:
    """For each bar the times in the file of its beats and its end, as far as the file goes.

    covers: the bars that the file plays (None: from the first on); the first of them begins at
    music_at_s. A beat cut short by the end of the file ends there.
    """
    if covers is None:
        start, end = tempo_map.bar_start(tempo_map.first_bar), None
    else:
        start, end = tempo_map.span_of(covers)
    from_s = float(tempo_map.seconds_at_wholes(start)) - music_at_s
    bars: list[list[float]] = []
    bar = tempo_map.point_at(start).bar
    while True:
        low, high = tempo_map.bar_start(bar), tempo_map.bar_start(bar) + tempo_map.bar_length(bar)
        if end is not None:
            high = min(high, end)
        beats = _beats(tempo_map, bar, low, high)
        times = [float(tempo_map.seconds_at_wholes(at)) - from_s for at in beats if at >= start]
        inside = [t for t in times if t < seconds - SHORTEST_S]
        if len(inside) < len(times):
            inside = [t for t in inside if t > -SHORTEST_S]
            if inside:
                bars.append([*inside, seconds])
            return bars
        bars.append(inside)
        bar += 1
        if end is not None and high >= end:
            return bars


def _beats(tempo_map: TempoMap, bar: int, low: Fraction, high: Fraction) -> list[Fraction]:
    """Where the felt beats of a bar fall, in whole notes, and its end."""
    beat = tempo_map.meter_at(bar).felt_beat_length
    if (high - low) / beat > MOST_BEATS:
        beat *= 2
    count = int((high - low) / beat)
    # A pick-up keeps the beats it has at the end of a full bar.
    first = low if bar >= 1 else high - count * beat
    places = [low] if first > low else []
    places += [first + n * beat for n in range(count)]
    return [at for at in places if at < high] + [high]


def _cut(asked: AskedHearing, ear: Ear, bars: Sequence[Sequence[float]]) -> Spans:
    """Every bar cut into the stretches that explain its beats best."""
    pieces: Spans = []
    for beats in bars:
        count = len(beats)
        pieces += [(beats[i], beats[j]) for i in range(count) for j in range(i + 1, count)]
    loud = sounding_spans(ear.loudness(pieces))
    odds = ear.odds(pieces, pitches_of(asked.open_strings, asked.capo))
    odds[~loud] = -SURE
    grips = best_alone(odds, asked.open_strings, asked.capo)
    played = np.where(loud[:, None], indicator(grips, odds.shape[1]), 0.0)
    row = {piece: n for n, piece in enumerate(pieces)}
    sure = np.clip(odds, -SURE, SURE)
    out: Spans = []
    for beats in bars:
        cost = {}
        for i, j in combinations(range(len(beats)), 2):
            heard = sure[[row[beat] for beat in pairwise(beats[i : j + 1])]]
            notes = played[row[beats[i], beats[j]]]
            foreign = np.maximum(heard, 0.0) * (1.0 - notes)
            absent = np.maximum(-heard, 0.0) * notes
            cost[i, j] = float(foreign.sum() + ABSENT * absent.sum())
        out += [(beats[i], beats[j]) for i, j in cheapest_cut(len(beats) - 1, cost)]
    return out


def cheapest_cut(beats: int, cost: Mapping[tuple[int, int], float]) -> list[tuple[int, int]]:
    """The way to cut a bar of so many beats that costs least, each change paid for.

    cost: of each piece, by its first beat and the one after its last (dynamic programming).
    """
    best: list[tuple[float, list[int]]] = [(0.0, [0])]
    for end in range(1, beats + 1):
        price, at = min(
            (best[at][0] + cost[at, end] + (CHANGE if at else 0.0), at) for at in range(end)
        )
        best.append((price, [*best[at][1], end]))
    return list(pairwise(best[-1][1]))


def _joined(asked: AskedHearing, ear: Ear, spans: Spans) -> Spans:
    """Neighbours that have the same notes when each is heard, as one."""
    heard = told(replace(asked, spans=tuple(spans)), ear)
    return [(span.start, span.end) for span in together(heard)]


def together(heard: Sequence[HeardSpan]) -> tuple[HeardSpan, ...]:
    """The same stretches with neighbours of the same notes made one, as the surer was heard."""
    out: list[HeardSpan] = []
    for span in heard:
        last = out[-1] if out else None
        meets = last is not None and span.start - last.end < SHORTEST_S
        if last is None or not meets or (last.silent, last.notes) != (span.silent, span.notes):
            out.append(span)
            continue
        sure = [s.voicings[0].confidence if s.voicings else 0.0 for s in (last, span)]
        surer = span if sure[1] > sure[0] else last
        out[-1] = replace(surer, start=last.start, end=span.end)
    return tuple(out)
