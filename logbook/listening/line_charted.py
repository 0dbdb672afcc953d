"""The chart of a single line: its notes as labels without frets, bar by bar."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from logbook.listening.charts import HeardChart, HeardEntry, heard_sections
from logbook.listening.following import LaidBar
from logbook.listening.heard import HeardNote
from logbook.listening.line_chart import PlacedNote
from logbook.listening.stretches import DOUBTFUL, StretchReading
from logbook.records.part_view import PartView
from logbook.records.parts import Voicing
from logbook.theory.pitch import midi_to_name


def line_chart(place: PartView, notes: Sequence[PlacedNote], bars: Sequence[LaidBar]) -> HeardChart:
    """The notes of a single line as a chart: each is a label without frets, "C4".

    A note that is held into the next bar goes on there, as a chord does.
    """
    key = place.version.key
    points: dict[tuple[int, Fraction], PlacedNote | None] = {}
    for placed in notes:
        points[placed.bar, placed.beat] = placed
        if placed.rest_after is not None:
            points.setdefault(placed.rest_after, None)
    sounding: PlacedNote | None = None
    entries: list[HeardEntry] = []
    for bar in bars:
        inside = {beat: one for (number, beat), one in points.items() if number == bar.bar}
        inside.setdefault(Fraction(1), sounding)
        for beat, one in sorted(inside.items()):
            sounding = one
            entries.append(_line_entry(bar.bar, beat, one, key))
    sure: dict[str, list[float]] = {}
    for placed in notes:
        sure.setdefault(note_label(placed.note, key), []).append(placed.note.confidence)
    known = {each.label for each in place.part.voicings}
    labels = dict.fromkeys(entry.label for entry in entries if entry.label)
    return HeardChart(
        entries=tuple(entries),
        new=tuple(Voicing(label=label) for label in labels if label not in known),
        sections=heard_sections(place, entries, bars),
        key=key,
        sure={label: sorted(each)[len(each) // 2] for label, each in sure.items()},
        notes=tuple(notes),
    )


def note_label(note: HeardNote, key: str) -> str:
    """What a chart calls a note: its name with octave, spelled in the key ("" for none)."""
    return midi_to_name(note.midi, key or None)


def _line_entry(bar: int, beat: Fraction, one: PlacedNote | None, key: str) -> HeardEntry:
    if one is None:
        return HeardEntry(bar=bar, beat=beat, label="", reading=None, second=None, doubtful=False)
    sure = one.note.confidence
    return HeardEntry(
        bar=bar,
        beat=beat,
        label=note_label(one.note, key),
        reading=StretchReading(frets=(), notes=(one.note.midi,), confidence=sure),
        second=None,
        doubtful=sure < DOUBTFUL and (bar, beat) == (one.bar, one.beat),
    )
