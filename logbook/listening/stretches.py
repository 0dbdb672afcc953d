"""The chords of laid bars: every bar heard whole and in halves, and cut where its halves differ.

A bar is cut in its middle (on a beat of its meter) where both halves are heard with other notes
and surely enough; else it is one stretch. What was heard second best stays with each.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from logbook.listening import hear_part
from logbook.listening.extra import ListeningError
from logbook.listening.following import LaidBar
from logbook.listening.heard import HeardSpan, HeardVoicing
from logbook.listening.playing import Strings
from logbook.records.charted import Frets

SHORTEST_S = 0.35  # of a stretch worth hearing by itself
CUT_SURE = 0.5  # each half must be heard at least so surely
CUT_PRICE = 0.12  # how much surer halves must be than the whole
DOUBTFUL = 0.7  # below it the second reading is told


@dataclass(frozen=True, kw_only=True, slots=True)
class StretchReading:
    """One way to read a stretch: frets from the nut, MIDI notes that sound, and how sure."""

    frets: Frets
    notes: tuple[int, ...]
    confidence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Stretch:
    """A stretch of one chord: where it begins in the version and the file, and what is heard.

    readings: best first, empty where nothing sounds or nothing fits; notes: what sounds.
    """

    bar: int
    beat: Fraction
    start_s: float
    end_s: float
    notes: tuple[int, ...]
    readings: tuple[StretchReading, ...]

    @property
    def doubtful(self) -> bool:
        """Whether the second reading should be told too."""
        return bool(self.readings) and self.readings[0].confidence < DOUBTFUL


def hear_spans(
    path: Path,
    spans: Sequence[tuple[float, float]],
    strings: Strings,
    seconds: float,
    logged: Sequence[Frets] | None = None,
) -> list[HeardSpan | None]:
    """`hear_part` for spans of which some may lie outside the file: these are None.

    Frets are counted from the nut, also behind a partial capo.
    """
    inside = [
        (number, (max(0.0, start), min(end, seconds)))
        for number, (start, end) in enumerate(spans)
        if min(end, seconds) - max(0.0, start) > 0.15
    ]
    out: list[HeardSpan | None] = [None] * len(spans)
    if not inside:
        return out
    grips = None if logged is None else [strings.heard(frets) for frets in logged]
    heard = hear_part(
        path,
        [span for _, span in inside],
        open_strings=strings.open_midi,
        capo=strings.capo,
        logged=grips,
    )
    for (number, _), span in zip(inside, heard, strict=True):
        out[number] = span
    return out


def hear_stretches(
    path: Path,
    bars: Sequence[LaidBar],
    strings: Strings,
    seconds: float,
    logged: Sequence[Frets] | None = None,
    cut: Container[int] = (),
) -> tuple[Stretch, ...]:
    """Hear the chords of laid bars; those in `cut` in halves in any case.

    Raises ListeningError where none of them is in the file."""
    whole = hear_spans(path, [(bar.start, bar.end) for bar in bars], strings, seconds, logged)
    if all(span is None for span in whole):
        raise ListeningError(f"no bar lies in {path.name}", "say where the music begins in it")
    cuts = [_middle(bar) for bar in bars]
    halves: list[tuple[float, float]] = []
    for bar, middle in zip(bars, cuts, strict=True):
        if middle is not None:
            halves += [(bar.start, middle[1]), (middle[1], bar.end)]
    half = iter(hear_spans(path, halves, strings, seconds, logged))
    out: list[Stretch] = []
    for bar, middle, span in zip(bars, cuts, whole, strict=True):
        pair = (next(half), next(half)) if middle is not None else (None, None)
        if span is None:
            continue
        first, second = pair
        if middle and first and second and (bar.bar in cut or _changes(span, first, second)):
            out.append(_stretch(bar, Fraction(1), bar.start, middle[1], first, strings))
            out.append(_stretch(bar, middle[0], middle[1], bar.end, second, strings))
        else:
            out.append(_stretch(bar, Fraction(1), bar.start, bar.end, span, strings))
    return tuple(out)


def _middle(bar: LaidBar) -> tuple[Fraction, float] | None:
    """The beat and second at which a bar may be cut; None for a bar too short for it."""
    beats = bar.meter.beats
    felt = int(bar.meter.bar_length / bar.meter.felt_beat_length)
    if felt < 2 or bar.bar == 0 or bar.end - bar.start < 2 * SHORTEST_S:
        return None
    share = Fraction((felt + 1) // 2, felt)
    return 1 + share * beats, bar.start + float(share) * (bar.end - bar.start)


def _changes(whole: HeardSpan, first: HeardSpan, second: HeardSpan) -> bool:
    if first.silent or second.silent or not (first.voicings and second.voicings):
        return False
    one, other = first.voicings[0], second.voicings[0]
    apart = {n % 12 for n in one.notes} ^ {n % 12 for n in other.notes}
    if len(apart) < 2:
        return False
    sure = min(one.confidence, other.confidence)
    held = whole.voicings[0].confidence if whole.voicings else 0.0
    # A whole bar heard surely is one chord: picking may leave notes out of a half.
    spread = {n % 12 for n in one.notes} | {n % 12 for n in other.notes}
    if whole.voicings and held > 0.8 and spread <= {n % 12 for n in whole.voicings[0].notes}:
        return False
    return sure > CUT_SURE and sure > held * 0.5 + CUT_PRICE


def _stretch(
    bar: LaidBar, beat: Fraction, start: float, end: float, span: HeardSpan, strings: Strings
) -> Stretch:
    return Stretch(
        bar=bar.bar,
        beat=beat,
        start_s=start,
        end_s=end,
        notes=() if span.silent else span.notes,
        readings=() if span.silent else tuple(reading_of(each, strings) for each in span.voicings),
    )


def reading_of(voicing: HeardVoicing, strings: Strings) -> StretchReading:
    """What was heard, its frets counted from the nut."""
    return StretchReading(
        frets=strings.from_nut(voicing.frets),
        notes=voicing.notes,
        confidence=round(float(voicing.confidence), 3),
    )
