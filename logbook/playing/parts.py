"""A part as strokes that a page plucks for itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import NamedTuple

from logbook.arranging.performance import Note, perform, readable_positions
from logbook.arranging.pitched import notes_of
from logbook.records.part_view import PartView
from logbook.strings.sounding import course_midi
from logbook.strings.tunings import StringTuning, sounding_hz
from logbook.theory.pitch import A4_HZ
from logbook.timing.tempo_map import TempoMap

TAIL_S = 0.4
_A4_MIDI = 69
_PLAIN, _ACCENT = 0.5, 0.75
_SOFTER = (1.0, 0.6, 0.35)

Strings = tuple[tuple[int, ...], ...]
"""The strings of a stroke in the order they are struck, each with its MIDI notes (two where it is
a course of two); 0 is a hit on stopped strings."""


class StruckStrings(NamedTuple):
    """Strings struck together: how hard (0 to 1), and which."""

    strength: float
    strings: Strings


class Struck(NamedTuple):
    """A stroke where it falls: seconds from the music's start, and how long it sounds."""

    start_s: float
    seconds: float
    stroke: StruckStrings


class Strokes(NamedTuple):
    """A part note by note, and each of its chords alone, to be plucked at whatever tempo.

    `a4_hz` is what A4 sounds at, the tuning's offset included.
    """

    a4_hz: float
    struck: tuple[Struck, ...]
    chords: dict[str, StruckStrings]


def strokes_of(place: PartView, bars: TempoMap) -> Strokes:
    """Return a part's strokes exactly as it is logged; none where it has no chart.

    Raises LogbookError where it has no tuning, or something in it cannot be read.
    """
    notes = perform(place, bars) if place.part.chart else ()
    struck = tuple(
        Struck(start, end - start, StruckStrings(_strength(first), strings))
        for (start, end), first, strings in _together(notes, bars)
    )
    tuning = place.tuning
    a4_hz = sounding_hz(tuning, _A4_MIDI) if tuning else A4_HZ
    return Strokes(a4_hz, struck, dict(_chords(place, tuning)))


def _together(
    notes: Iterable[Note], bars: TempoMap
) -> Iterator[tuple[tuple[float, float], Note, Strings]]:
    """Notes that begin and end together, in the order of their strings."""

    def when(note: Note) -> tuple[float, float, bool]:
        start, end = (float(bars.seconds_at_wholes(at)) for at in (note.start, note.end))
        return start, end, note.accent

    for (start, end, _), found in groupby(notes, when):
        some = list(found)
        yield (start, end), some[0], tuple((0,) if e.muted else e.midi or (0,) for e in some)


def _strength(note: Note) -> float:
    return (_ACCENT if note.accent else _PLAIN) * _SOFTER[min(note.soft, 2)]


def _chords(place: PartView, tuning: StringTuning | None) -> Iterator[tuple[str, StruckStrings]]:
    """Each voicing strummed once; strings that may ring are not fingered, so they are left out."""
    if tuning is None:
        for label, midi in notes_of(place).items():
            yield label, StruckStrings(_PLAIN, tuple((each,) for each in midi))
        return
    for label, position in readable_positions(place.part, tuning).items():
        courses = zip(position, course_midi(position, tuning), strict=True)
        struck = (midi for at, midi in courses if at is not None and not at.may_ring)
        strings = tuple(tuple(midi) for midi in struck)
        if strings:
            yield label, StruckStrings(_PLAIN, strings)
