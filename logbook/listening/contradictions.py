"""Where the sound of a part contradicts its logged chart.

First the whole: the pitch classes of all stretches against those logged, moved by every semitone;
where another place fits clearly better, the capo (or the tuning, or the key) is not as logged.
Then every stretch is heard with the part's own voicings to choose from, and without. A stretch is
accused where another of the part's voicings is clearly surer than the logged one, or where none of
them fits and another chord is heard surely; a voicing, where the stretches that share it agree
among themselves on other notes than it has. Only what sounds otherwise counts: another grip with
the same notes is no contradiction, nor is a string that was not struck.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from logbook.listening.decoding import DecodedSound
from logbook.listening.heard import HeardSpan
from logbook.listening.onsets import Floats
from logbook.listening.pitches import HOP_SECONDS, WINDOW_SECONDS, pitch_frames
from logbook.listening.playing import Strings
from logbook.listening.stretches import hear_spans
from logbook.records.charted import Frets

MOVED_MARGIN = 0.12  # how much better (cosine) another place must fit the whole
LEAST_SPANS = 3  # to say anything of the whole
OWN_SURE = 0.7  # of another of the part's voicings, at least
OWN_MARGIN = 0.4  # over the logged one
FREE_SURE = 0.9  # of a chord the part has no voicing for
POOLED_SURE, POOLED_SHARE = 0.6, 0.6  # of stretches that share a voicing
BACKED_SURE = 0.93  # the same, where the logged one is the best of the part's own
OVERTONES = ((0, 1.0), (7, 0.3), (4, 0.15))  # a note's pitch classes and their weight


@dataclass(frozen=True, kw_only=True, slots=True)
class Charted:
    """A stretch as it is logged: place, seconds in the file, label and frets from the nut."""

    bar: int
    beat: Fraction
    start_s: float
    end_s: float
    label: str
    frets: Frets


@dataclass(frozen=True, kw_only=True, slots=True)
class Contradiction:
    """A stretch that sounds otherwise than logged.

    heard: the label of the part's own voicing that is heard, "" where it has none; frets and notes
    (MIDI) of what is heard. pooled: how many stretches with the same voicing say so. confidence: 0
    to 1.
    """

    charted: Charted
    heard: str
    frets: Frets
    notes: tuple[int, ...]
    confidence: float
    pooled: int = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class PartTransposed:
    """The whole part sounds this many semitones above what is logged."""

    semitones: int
    confidence: float


def chroma_of_spans(sound: DecodedSound, spans: Sequence[tuple[float, float]]) -> Floats:
    """Pitch classes of each stretch, spans x 12, of unit length and zero mean; 0 where none."""
    frames = pitch_frames(sound.samples, sound.rate)
    middle = np.arange(len(frames)) * HOP_SECONDS + 0.5 * WINDOW_SECONDS
    out = np.zeros((len(spans), 12))
    for row, (start, end) in enumerate(spans):
        inside = (middle >= start + 0.1) & (middle < end)
        if np.any(inside):
            mean = np.mean(frames[inside], axis=0)
            out[row] = mean / (np.linalg.norm(mean) + 1e-12)
    return out


def chroma_of_notes(notes: Sequence[int]) -> Floats:
    """What the pitch classes of a stretch with these notes are about like."""
    out = np.zeros(12)
    for note in notes:
        for above, weight in OVERTONES:
            out[(note + above) % 12] += weight
    out -= np.mean(out)
    return np.asarray(out / (np.linalg.norm(out) + 1e-12), dtype=np.float64)


def find_moved(heard: Floats, logged: Floats) -> PartTransposed | None:
    """By how many semitones the whole part is moved; None where it is not, or cannot be told."""
    use = np.linalg.norm(heard, axis=1) > 0.5
    if int(np.sum(use)) < LEAST_SPANS:
        return None
    fits = np.array(
        [
            float(np.mean(np.sum(heard[use] * np.roll(logged[use], move, axis=1), axis=1)))
            for move in range(12)
        ]
    )
    best = int(np.argmax(fits))
    margin = float(fits[best] - fits[0])
    if best == 0 or margin < MOVED_MARGIN:
        return None
    semitones = best if best <= 6 else best - 12
    return PartTransposed(semitones=semitones, confidence=round(min(0.99, 0.7 + 1.5 * margin), 2))


def find_contradictions(
    sound: DecodedSound,
    charted: Sequence[Charted],
    own: Mapping[str, Frets],
    strings: Strings,
    notes_alone: Sequence[Frets] | None = None,
) -> tuple[Contradiction, ...]:
    """The stretches that sound otherwise than logged, in order of their places.

    notes_alone: for a part of single notes, a grip for each of them; then octaves are not told
    apart, nor a note from the fifth above it, which is its own overtone.
    """
    spans = [(each.start_s, each.end_s) for each in charted]
    by_notes: dict[frozenset[int], str] = {}
    for label, frets in own.items():
        by_notes.setdefault(frozenset(strings.notes(frets)), label)
    grips = list(dict.fromkeys(own.values()))
    mine = hear_spans(sound.path, spans, strings, sound.seconds, grips)
    free = hear_spans(sound.path, spans, strings, sound.seconds, notes_alone)
    if notes_alone is not None:
        return _single_notes(charted, free, by_notes, strings)
    found: dict[int, Contradiction] = {}
    for number, each in enumerate(charted):
        logged = frozenset(strings.notes(each.frets))
        said = _by_own(each, logged, mine[number], free[number], by_notes, strings)
        if said is None:
            said = _freely(each, logged, mine[number], free[number], by_notes, strings)
        if said is not None:
            found[number] = said
    for number, said in _pooled(charted, mine, free, by_notes, strings).items():
        found.setdefault(number, said)
    return tuple(found[number] for number in sorted(found))


def _single_notes(
    charted: Sequence[Charted],
    heard: Sequence[HeardSpan | None],
    by_notes: Mapping[frozenset[int], str],
    strings: Strings,
) -> tuple[Contradiction, ...]:
    out = []
    for each, span in zip(charted, heard, strict=True):
        if span is None or span.silent or not span.voicings:
            continue
        best = span.voicings[0]
        logged = {note % 12 for note in strings.notes(each.frets)}
        apart = {(note - other) % 12 for note in best.notes for other in logged}
        if best.confidence < OWN_SURE or apart & {0, 7}:
            continue
        out.append(
            Contradiction(
                charted=each,
                heard=by_notes.get(frozenset(best.notes), ""),
                frets=strings.from_nut(best.frets),
                notes=best.notes,
                confidence=round(float(best.confidence), 2),
            )
        )
    return tuple(out)


def _by_own(
    each: Charted,
    logged: frozenset[int],
    mine: HeardSpan | None,
    free: HeardSpan | None,
    by_notes: Mapping[frozenset[int], str],
    strings: Strings,
) -> Contradiction | None:
    """Another of the part's voicings is clearly surer than the logged one."""
    if mine is None or mine.silent or not mine.voicings:
        return None
    best = mine.voicings[0]
    if frozenset(best.notes) == logged:
        return None
    here = max((v.confidence for v in mine.voicings if frozenset(v.notes) == logged), default=0.0)
    if best.confidence < OWN_SURE or best.confidence - here < OWN_MARGIN:
        return None
    # What is heard without any help must not speak for the logged one.
    if free is not None and free.voicings and frozenset(free.voicings[0].notes) == logged:
        return None
    return Contradiction(
        charted=each,
        heard=by_notes.get(frozenset(best.notes), ""),
        frets=strings.from_nut(best.frets),
        notes=best.notes,
        confidence=round(float(best.confidence), 2),
    )


def _freely(
    each: Charted,
    logged: frozenset[int],
    mine: HeardSpan | None,
    free: HeardSpan | None,
    by_notes: Mapping[frozenset[int], str],
    strings: Strings,
) -> Contradiction | None:
    """None of the part's voicings fits, and another chord is heard surely."""
    if free is None or free.silent or not free.voicings or (mine is not None and mine.voicings):
        return None
    best = free.voicings[0]
    classes = {note % 12 for note in best.notes}
    if best.confidence < FREE_SURE or classes <= {note % 12 for note in logged}:
        return None
    return Contradiction(
        charted=each,
        heard=by_notes.get(frozenset(best.notes), ""),
        frets=strings.from_nut(best.frets),
        notes=best.notes,
        confidence=round(float(best.confidence), 2),
    )


def _pooled(
    charted: Sequence[Charted],
    mine: Sequence[HeardSpan | None],
    free: Sequence[HeardSpan | None],
    by_notes: Mapping[frozenset[int], str],
    strings: Strings,
) -> dict[int, Contradiction]:
    """Stretches that share a voicing and agree on other notes than it has."""
    groups: dict[Frets, list[int]] = {}
    for number, each in enumerate(charted):
        groups.setdefault(each.frets, []).append(number)
    out: dict[int, Contradiction] = {}
    for frets, numbers in groups.items():
        logged = frozenset(strings.notes(frets))
        votes: Counter[frozenset[int]] = Counter()
        weight: dict[frozenset[int], float] = {}
        frets_of: dict[frozenset[int], Frets] = {}
        for number in numbers:
            for heard in (free[number], mine[number]):
                if heard is None or heard.silent or not heard.voicings:
                    continue
                best = heard.voicings[0]
                notes = frozenset(best.notes)
                votes[notes] += 1
                weight[notes] = weight.get(notes, 0.0) + best.confidence
                frets_of.setdefault(notes, strings.from_nut(best.frets))
                break
        if len(numbers) < 2 or not votes:
            continue
        notes, count = votes.most_common(1)[0]
        classes = {note % 12 for note in notes}
        if classes <= {note % 12 for note in logged}:
            continue
        sure = weight[notes] / count
        backed = sum(
            bool(heard and heard.voicings) and frozenset(heard.voicings[0].notes) == logged
            for heard in (mine[number] for number in numbers)
            if heard is not None
        )
        if 2 * backed > len(numbers) and sure < BACKED_SURE:
            continue
        if count >= 2 and count >= POOLED_SHARE * len(numbers) and sure > POOLED_SURE:
            pooled = 1.0 - (1.0 - min(0.95, sure)) ** min(count, 3)
            for number in numbers:
                out[number] = Contradiction(
                    charted=charted[number],
                    heard=by_notes.get(notes, ""),
                    frets=frets_of[notes],
                    notes=tuple(sorted(notes)),
                    confidence=round(min(0.99, pooled), 2),
                    pooled=count,
                )
    return out
