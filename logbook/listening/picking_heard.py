"""A part's picking hand heard from its recording, with what the log knows of its chords.

The chords under the hand are those of the logged chart; where there is none, those heard in each
bar. They say which strings a stroke can be on.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, replace
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.listening import hear_part
from logbook.listening.hand import HeardPattern, find_patterns
from logbook.listening.hearing import tuning_cents
from logbook.listening.playing import Recording, Strings, strings_of
from logbook.listening.strokes import HeardHand, Sounding, hear_strokes
from logbook.records.charted import chart_spans

Frets = tuple[int | None, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPicking:
    """The strokes of a recording and the patterns they make."""

    hand: HeardHand
    patterns: tuple[HeardPattern, ...]


def hear_picking(
    recording: Recording,
    *,
    grid: Fraction | None = None,
    grips: dict[int, Frets] | None = None,
    only: Container[int] | None = None,
) -> HeardPicking:
    """Hear what the picking hand does.

    grid: a fraction of a whole note, None to find it. grips: frets from the nut by bar, where the
    chords were heard already. only: the bars that are asked for, None for all; the grid and the
    swing are heard from the whole recording all the same.
    """
    try:
        strings: Strings | None = strings_of(recording.place)
    except LogbookError:
        strings = None
    chords: list[tuple[float, float, Frets]] = []
    if strings is not None:
        chords = _heard_grips(recording, grips) if grips is not None else _logged(recording)
        if not chords:
            chords = _heard(recording, strings)
    soundings = []
    numbers: dict[int, tuple[int, ...]] = {}
    for start, end, frets in chords:
        if strings is None or all(fret is None for fret in frets):
            continue
        soundings.append(Sounding(start=start, end=end, notes=strings.notes(frets)))
        names = tuple(len(frets) - n for n, fret in enumerate(frets) if fret is not None)
        for bar in recording.bars:
            if start - 0.05 <= bar.start < end - 0.05:
                numbers[bar.bar] = names
    hand = hear_strokes(
        recording.sound,
        recording.heard,
        recording.bars,
        chords=soundings,
        grid=grid,
        cents=tuning_cents(recording.sound.samples, recording.sound.rate),
    )
    fingers = "finger" in recording.place.part.picked
    bars = recording.bars
    if only is not None:
        bars = tuple(bar for bar in bars if bar.bar in only)
        hand = replace(hand, strokes=tuple(each for each in hand.strokes if each.bar in only))
    patterns = find_patterns(hand, bars, fingers=fingers, numbers=numbers)
    return HeardPicking(hand=hand, patterns=patterns)


def _logged(recording: Recording) -> list[tuple[float, float, Frets]]:
    tempo_map = recording.tempo_map
    if tempo_map is None:
        return []
    out = []
    for span in chart_spans(recording.place):
        if span.frets is None:
            continue
        start = recording.seconds_at(tempo_map.point_at(span.start))
        end = recording.seconds_at(tempo_map.point_at(span.end))
        if start is None and end is not None:
            start = recording.bars[0].start
        if start is not None:
            out.append((start, end if end is not None else recording.bars[-1].end, span.frets))
    return out


def _heard_grips(recording: Recording, grips: dict[int, Frets]) -> list[tuple[float, float, Frets]]:
    return [(bar.start, bar.end, grips[bar.bar]) for bar in recording.bars if bar.bar in grips]


def _heard(recording: Recording, strings: Strings) -> list[tuple[float, float, Frets]]:
    spans = [(max(0.0, bar.start), min(bar.end, recording.sound.seconds)) for bar in recording.bars]
    spans = [span for span in spans if span[1] - span[0] > 0.1]
    heard = hear_part(recording.path, spans, open_strings=strings.open_midi, capo=strings.capo)
    return [
        (span.start, span.end, strings.from_nut(span.voicings[0].frets))
        for span in heard
        if span.voicings
    ]
