"""Any recording of a song held against a part's chart: another tempo, key, player or form.

The recording's own beats make its bars, at the tempo that was tracked, its half and its double, and
from each beat of the bar. Its bars are laid against those of the chart by their pitch classes, in
all twelve keys, with bars left out or put in on either side (dynamic programming as for two
sequences of letters; S. Needleman and C. Wunsch, Journal of Molecular Biology 48, 1970). Then each
chord is heard and compared with the logged one, moved to the key that was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from logbook.listening.contradictions import chroma_of_notes, chroma_of_spans
from logbook.listening.decoding import DecodedSound
from logbook.listening.free_tempo import hear_tempo
from logbook.listening.heard import HeardSpan
from logbook.listening.onsets import Floats
from logbook.listening.playing import Strings
from logbook.listening.stretches import hear_spans
from logbook.records.charted import ChartSpan
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter
from logbook.timing.tempo_map import TempoMap

AS_RECORDED = "as recorded"
OTHER_VOICING = "same chord in another voicing"
OTHER_CHORD = "another chord"
LEFT_OUT = "left out"

GAP = 0.4  # what a bar left out or put in costs, against a fit of 1 for one that agrees
STRANGE, NEAR_TEMPO = 0.4, 0.5  # what each octave of tempo beyond a half of one costs
ALIKE = 0.7  # of pitch classes for the same chord


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedSpan:
    """A charted stretch in the recording: what became of it, where, and the notes heard there."""

    span: ChartSpan
    kind: str
    start_s: float | None
    notes: tuple[int, ...]
    confidence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ComparedVersion:
    """A recording against a chart.

    semitones: how far its key lies above the chart's, -5 to 6. bpm: its tempo in the meter's felt
    beats; fit: how well the bars agree, up to 1.
    """

    semitones: int
    bpm: float
    fit: float
    bars: tuple[ComparedSpan, ...]


def compare_version(
    sound: DecodedSound,
    spans: Sequence[ChartSpan],
    tempo_map: TempoMap,
    strings: Strings,
    meter: Meter,
) -> ComparedVersion:
    """Hold a recording against charted stretches (with frets) of a version.

    Raises ListeningError where no beat is heard in it.
    """
    charted = sorted({bar for span in spans for bar in _bars_of(span, tempo_map)})
    wanted = np.stack([_bar_chroma(bar, spans, tempo_map, strings) for bar in charted])
    free = hear_tempo(sound, meter=meter)
    beats = free.beats.times
    a_bar = max(1, int(meter.bar_length / meter.felt_beat_length))
    usual_s = float(np.median([_bar_seconds(bar, tempo_map) for bar in charted]))
    best: tuple[float, int, list[tuple[int, int]], list[tuple[float, float]]] | None = None
    for times in _levels(beats):
        for first in range(a_bar):
            bars = _as_bars(times, first, a_bar)
            if len(bars) < 2:
                continue
            heard = chroma_of_spans(sound, bars)
            length_s = float(np.median([end - start for start, end in bars]))
            strange = STRANGE * max(0.0, abs(float(np.log2(length_s / usual_s))) - NEAR_TEMPO)
            for move in range(12):
                fit, pairs = _aligned(wanted, np.roll(heard, -move, axis=1))
                fit -= strange
                if best is None or fit > best[0]:
                    best = (fit, move, pairs, bars)
    assert best is not None, "a recording with beats has bars"
    fit, move, pairs, bars = best
    semitones = move if move <= 6 else move - 12
    place = {charted[row]: bars[column] for row, column in pairs}
    compared = _compared(sound, spans, tempo_map, strings, place, semitones)
    beat_s = float(np.median([end - start for start, end in bars])) / a_bar
    return ComparedVersion(
        semitones=semitones,
        bpm=round(60.0 / beat_s, 1),
        fit=round(fit, 2),
        bars=tuple(compared),
    )


def _bar_seconds(bar: int, tempo_map: TempoMap) -> float:
    begins, ends = (BarPoint(bar), BarPoint(bar + 1))
    return float(tempo_map.seconds_at(ends) - tempo_map.seconds_at(begins))


def _bars_of(span: ChartSpan, tempo_map: TempoMap) -> range:
    first = tempo_map.point_at(span.start)
    last = tempo_map.point_at(span.end)
    return range(first.bar, last.bar + (last.beat > 1))


def _bar_chroma(
    bar: int, spans: Sequence[ChartSpan], tempo_map: TempoMap, strings: Strings
) -> Floats:
    out = np.zeros(12)
    start, end = tempo_map.bar_start(bar), tempo_map.bar_start(bar + 1)
    for span in spans:
        share = min(end, span.end) - max(start, span.start)
        if share > 0 and span.frets is not None:
            out += float(share) * chroma_of_notes(strings.notes(span.frets))
    return np.asarray(out / (np.linalg.norm(out) + 1e-12), dtype=np.float64)


def _levels(beats: Floats) -> list[Floats]:
    """The beats as tracked, every second of them, and with one between each two."""
    between = np.interp(np.arange(0, beats.size - 0.5, 0.5), np.arange(beats.size), beats)
    return [beats, beats[::2], beats[1::2], between]


def _as_bars(times: Floats, first: int, a_bar: int) -> list[tuple[float, float]]:
    gap = float(np.median(np.diff(times))) if times.size > 1 else 0.5
    edges = [float(time) for time in times[first::a_bar]]
    # The last bar rings out: it is as long as the others.
    edges.append(edges[-1] + a_bar * gap)
    return list(pairwise(edges))


def _aligned(wanted: Floats, heard: Floats) -> tuple[float, list[tuple[int, int]]]:
    """How well two rows of bars agree (a bar of the chart, at most 1), and the pairs."""
    like = wanted @ heard.T
    rows, columns = like.shape
    score = np.zeros((rows + 1, columns + 1))
    score[:, 0] = -GAP * np.arange(rows + 1)
    way = np.zeros((rows + 1, columns + 1), dtype=int)
    way[1:, 0] = 1
    way[0, 1:] = 2
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            # Bars before and after what the chart has cost nothing: count-ins, endings.
            free = row == rows
            choices = (
                score[row - 1, column - 1] + like[row - 1, column - 1],
                score[row - 1, column] - GAP,
                score[row, column - 1] - (0.0 if free else GAP),
            )
            way[row, column] = int(np.argmax(choices))
            score[row, column] = choices[way[row, column]]
    pairs = []
    row, column = rows, columns
    while row > 0 or column > 0:
        step = way[row, column]
        if step == 0 and row > 0 and column > 0:
            pairs.append((row - 1, column - 1))
            row, column = row - 1, column - 1
        elif step == 1 and row > 0:
            row -= 1
        else:
            column -= 1
    return float(score[rows, columns]) / rows, pairs[::-1]


def _compared(
    sound: DecodedSound,
    spans: Sequence[ChartSpan],
    tempo_map: TempoMap,
    strings: Strings,
    place: dict[int, tuple[float, float]],
    semitones: int,
) -> list[ComparedSpan]:
    seconds: list[tuple[float, float] | None] = [_seconds(s, tempo_map, place) for s in spans]
    there = [each for each in seconds if each is not None]
    order = sorted(range(len(there)), key=lambda n: there[n])
    moved = Strings(
        open_midi=tuple(note + strings.capo + semitones for note in strings.open_midi),
        capo=0,
        added=strings.added,
        stops=strings.stops,
    )
    heard: list[HeardSpan | None] = [None] * len(there)
    told = hear_spans(sound.path, [there[n] for n in order], moved, sound.seconds)
    for n, each in zip(order, told, strict=True):
        heard[n] = each
    found = iter(heard)
    out = []
    for span, at in zip(spans, seconds, strict=True):
        said = next(found) if at is not None else None
        out.append(_judged(span, at, said, strings, semitones))
    return out


def _seconds(
    span: ChartSpan, tempo_map: TempoMap, place: dict[int, tuple[float, float]]
) -> tuple[float, float] | None:
    """Where a stretch lies in the recording, by its first bar; None where that was left out."""
    first = tempo_map.point_at(span.start).bar
    if first not in place:
        return None
    start, end = place[first]
    low, length = tempo_map.bar_start(first), tempo_map.bar_length(first)
    a = float(Fraction(span.start - low) / length)
    b = min(1.0, float(Fraction(span.end - low) / length))
    return start + a * (end - start), start + b * (end - start)


def _judged(
    span: ChartSpan,
    at: tuple[float, float] | None,
    heard: HeardSpan | None,
    strings: Strings,
    semitones: int,
) -> ComparedSpan:
    if at is None or heard is None or heard.silent:
        start = at[0] if at else None
        return ComparedSpan(span=span, kind=LEFT_OUT, start_s=start, notes=(), confidence=0.0)
    assert span.frets is not None, "only stretches with frets are compared"
    logged = {note + semitones for note in strings.notes(span.frets)}
    classes = {note % 12 for note in logged}
    readings = heard.voicings
    sure = float(readings[0].confidence) if readings else 0.0
    notes = set(heard.notes)
    mine = {note % 12 for note in notes}
    alike = len(classes & mine) / max(1, len(classes | mine))
    kind = OTHER_CHORD
    if notes == logged or any(set(each.notes) == logged for each in readings[:2]):
        kind = AS_RECORDED
    elif mine <= classes or alike >= ALIKE:
        kind = OTHER_VOICING
    return ComparedSpan(
        span=span, kind=kind, start_s=at[0], notes=tuple(sorted(notes)), confidence=round(sure, 2)
    )
