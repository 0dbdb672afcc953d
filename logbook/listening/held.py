"""Chords that are held once each, as a player shows them: one strum, left to ring, then the next.

A chord begins where a strum does and lasts until the next one begins or it has died away. Strokes
closer together than `APART_S` belong to one strum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt

from logbook.listening.chart_heard import chart_of, plays_single_notes, single_notes
from logbook.listening.charts import HeardChart
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.extra import ListeningError
from logbook.listening.following import hear_onsets
from logbook.listening.playing import strings_of
from logbook.listening.stretches import Stretch, hear_spans, reading_of
from logbook.records.part_view import PartView

APART_S = 0.4
SHORTEST_S = 0.5
LONGEST_S = 8.0
QUIET_DB = -42.0  # below the loudest: nothing of the chord is left
WEAK = 0.22  # of the strongest strum: strings that beat, or a finger that moves


@dataclass(frozen=True, kw_only=True)
class HeldChords:
    """What was held: a span in seconds for each chord, and the chords as heard, in order."""

    spans: tuple[tuple[float, float], ...]
    heard: HeardChart


def held_spans(sound: DecodedSound) -> tuple[tuple[float, float], ...]:
    """Start and end in seconds of each chord that is held in a recording."""
    onsets = hear_onsets(sound)
    times = np.asarray(onsets.times, dtype=np.float64)
    weights = np.asarray(onsets.weights, dtype=np.float64)
    if not times.size:
        return ()
    strong = times[weights >= WEAK * float(weights.max())]
    starts: list[float] = []
    for time in strong.tolist():
        if not starts or time - starts[-1] >= APART_S:
            starts.append(time)
    dies = _dies_at(sound)
    spans = []
    for start, following in zip(starts, [*starts[1:], sound.seconds], strict=True):
        end = min(following, start + LONGEST_S, dies)
        if end - start >= SHORTEST_S:
            spans.append((start, end))
    return tuple(spans)


def _dies_at(sound: DecodedSound) -> float:
    """Where the last of the sound is, in seconds."""
    samples: npt.NDArray[np.float32] = np.abs(np.asarray(sound.samples, dtype=np.float32))
    loudest = float(samples.max(initial=0.0))
    loud = np.flatnonzero(samples > loudest * 10 ** (QUIET_DB / 20))
    return float(loud[-1]) / sound.rate if loud.size else 0.0


def hear_held(
    path: Path, place: PartView, *, spans: Sequence[tuple[float, float]] = ()
) -> HeldChords:
    """Hear the chords of a part that are held once each in a recording.

    `spans` are where they are held, found by themselves if left out. Raises ListeningError where
    none is heard, LogbookError where the part has no tuning.
    """
    strings = strings_of(place)
    tuning = place.tuning
    assert tuning is not None, "strings_of has seen to it"
    sound = decode(path)
    found = tuple(spans) or held_spans(sound)
    if not found:
        raise ListeningError(f"no held chord is heard in {path.name}", "hold each for a second")
    single = plays_single_notes(place)
    logged = single_notes(strings) if single else None
    heard = hear_spans(path, found, strings, sound.seconds, logged)
    stretches = [
        Stretch(
            bar=number,
            beat=Fraction(1),
            start_s=start,
            end_s=end,
            notes=span.notes,
            readings=tuple(reading_of(each, strings) for each in span.voicings),
        )
        for number, ((start, end), span) in enumerate(zip(found, heard, strict=True), 1)
        if span is not None and not span.silent
    ]
    return HeldChords(
        spans=found, heard=chart_of(place, stretches, strings, tuning, (), single=single)
    )
