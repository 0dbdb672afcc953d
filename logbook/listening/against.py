"""A part's recording held against its logged chart: what contradicts it, as records to keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.errors import LogbookError
from logbook.listening.chart_heard import plays_single_notes, single_notes
from logbook.listening.contradictions import (
    Charted,
    Contradiction,
    PartTransposed,
    chroma_of_notes,
    chroma_of_spans,
    find_contradictions,
    find_moved,
)
from logbook.listening.playing import Recording, strings_of
from logbook.records.charted import ChartSpan, basis_of, chart_spans, voicing_frets
from logbook.records.files import WHOLE_PART, HeardChord
from logbook.theory.names import name_chord
from logbook.theory.pitch import midi_to_name
from logbook.timing.bars import BarPoint


@dataclass(frozen=True, kw_only=True, slots=True)
class Against:
    """What contradicts the log in one recording.

    moved: the whole sounds higher or lower, None where it does not; then no bar is held against
    the log. bars: the stretches that sound otherwise. listened: how many stretches there were.
    """

    moved: PartTransposed | None
    bars: tuple[Contradiction, ...]
    listened: int
    spans: tuple[ChartSpan, ...]


def hold_against(recording: Recording) -> Against:
    """Hold a recording against its part's chart. Raises LogbookError where nothing is charted."""
    place = recording.place
    strings = strings_of(place)
    spans = [span for span in chart_spans(place) if span.frets is not None]
    if not spans:
        raise LogbookError(
            f"{place.title} has no chart to hold the sound against",
            "`logbook listen chart` hears one",
        )
    charted, used = _charted(recording, spans)
    if not charted:
        raise LogbookError(f"no charted bar lies in {recording.path.name}", "give another --take")
    seconds = [(each.start_s, each.end_s) for each in charted]
    heard = chroma_of_spans(recording.sound, seconds)
    logged = np.stack([chroma_of_notes(strings.notes(each.frets)) for each in charted])
    moved = find_moved(heard, logged)
    bars: tuple[Contradiction, ...] = ()
    if moved is None:
        own = voicing_frets(place)
        alone = single_notes(strings) if plays_single_notes(place) else None
        bars = find_contradictions(recording.sound, charted, own, strings, alone)
    return Against(moved=moved, bars=bars, listened=len(charted), spans=tuple(used))


def _charted(
    recording: Recording, spans: Sequence[ChartSpan]
) -> tuple[list[Charted], list[ChartSpan]]:
    """The logged stretches that lie in the file, bar by bar, and the stretches they are of."""
    tempo_map = recording.tempo_map
    inside = {bar.bar: bar for bar in recording.bars}
    out: list[Charted] = []
    used: list[ChartSpan] = []
    for span in spans:
        assert span.frets is not None, "stretches without frets were left out"
        if tempo_map is None:
            bar = inside.get(span.bar)
            start = recording.seconds_at(BarPoint(span.bar, span.beat))
            end = bar.end if bar else None
        else:
            start = recording.seconds_at(tempo_map.point_at(span.start))
            end = recording.seconds_at(tempo_map.point_at(span.end))
        if start is None:
            continue
        if end is None:
            end = recording.bars[-1].end
        out.append(
            Charted(
                bar=span.bar,
                beat=span.beat,
                start_s=start,
                end_s=end,
                label=span.label,
                frets=span.frets,
            )
        )
        used.append(span)
    return out, used


def as_records(recording: Recording, against: Against, heard_at: str) -> tuple[HeardChord, ...]:
    """What was found as the log keeps it with the file."""
    place = recording.place
    spans = chart_spans(place)
    if against.moved is not None:
        return (
            HeardChord(
                place=WHOLE_PART,
                logged=capo_said(place.part.capo),
                heard=moved_said(place.part.capo, against.moved.semitones),
                sure=against.moved.confidence,
                basis=basis_of(place, spans),
                heard_at=heard_at,
            ),
        )
    by_place = {(span.bar, span.beat): span for span in spans}
    return tuple(
        HeardChord(
            place=str(BarPoint(each.charted.bar, each.charted.beat)),
            logged=each.charted.label,
            heard=called(each, place.version.key),
            notes=" ".join(midi_to_name(note) for note in each.notes),
            sure=each.confidence,
            basis=basis_of(place, [by_place[each.charted.bar, each.charted.beat]]),
            heard_at=heard_at,
        )
        for each in against.bars
    )


def called(found: Contradiction, key: str) -> str:
    """What is heard: the part's own label, else the chord it makes."""
    if found.heard:
        return found.heard
    if len(found.notes) == 1:
        return midi_to_name(found.notes[0])
    name = name_chord(found.notes, key=key or None)[0]
    return name.symbol if name.named else "other notes"


def capo_said(capo: str) -> str:
    """A logged capo in words."""
    return f"capo {capo}" if capo and capo != "0" else "no capo"


def moved_said(capo: str, semitones: int) -> str:
    """What a part sounds like that is so many semitones above its log."""
    fret = int(capo) if capo.isdecimal() else 0 if not capo else None
    count = abs(semitones)
    way = "above" if semitones > 0 else "below"
    steps = f"{count} semitone{'' if count == 1 else 's'} {way}"
    if fret is not None and 0 <= fret + semitones <= 12:
        new = fret + semitones
        return f"capo {new}" if new else "no capo"
    return f"everything {steps}"
