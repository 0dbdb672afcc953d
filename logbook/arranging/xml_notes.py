"""A part as performed, in MusicXML: its notes on one staff, the same in tablature below.

Conventions. What the picking hand does is written as it is counted, straight; a swing is said in
words. A stroke is a chord of all its strings, held until the next stroke, the end of its chord or
a rest, with ties where a bar line, a new chord symbol or the note values ask for them. Of a double
course the string that is named is written. Muted strings have crosses for heads, a muted hit
without strings stands on the middle line. Tablature counts frets from a whole capo, as the staff
says, else from the nut.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements from memory; the tests hold
every file against its schema.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.melodies import melody_notes, sounding_melody
from logbook.arranging.performance import Note, chart_point, perform
from logbook.records.part_view import PartView
from logbook.strings.capo import Capos, whole_capo
from logbook.strings.tunings import StringTuning
from logbook.theory.compass import moved_note
from logbook.theory.keys import Key
from logbook.theory.notes import read_note
from logbook.theory.pitch import midi_to_name, spelled
from logbook.theory.symbols import read_symbol, reads
from logbook.timing.tempo_map import TempoMap

Element = ElementTree.Element
_sub = ElementTree.SubElement

TYPES = {
    Fraction(2): "breve", Fraction(1): "whole", Fraction(1, 2): "half", Fraction(1, 4): "quarter",
    Fraction(1, 8): "eighth", Fraction(1, 16): "16th", Fraction(1, 32): "32nd",
    Fraction(1, 64): "64th", Fraction(1, 128): "128th",
}  # fmt: skip
NOTES, TABLATURE = 1, 2
ALONE = 0  # the one staff of a part without frets
LOWER = 3  # the second staff of a part that has two
_STAFF_VOICES = {ALONE: "1", NOTES: "1", TABLATURE: "5", LOWER: "5"}
_STAFF_NUMBERS = {NOTES: "1", TABLATURE: "2", LOWER: "2"}
_HITS = "x*"


class PlayedPart(NamedTuple):
    """A part's strokes in order of time, and what is needed to write them.

    `strokes` are the notes struck together, by when they are (whole notes of the tempo map);
    `starts` are these times in order, `edges` those at which a note begins or ends. `chords` are
    the names of the chart's chords, each with its time, in order. Without frets there is no
    tuning, and the staff is at written pitch; `lower` is what stands on a second one below it.
    `said` are the names of notes that were said, by when they begin.
    """

    strokes: Mapping[Fraction, tuple[Note, ...]]
    starts: tuple[Fraction, ...]
    edges: tuple[Fraction, ...]
    tuning: StringTuning | None
    capo: int
    key: Key | None
    chords: tuple[tuple[Fraction, str], ...] = ()
    said: Mapping[tuple[Fraction, int], str] = MappingProxyType({})
    lower: PlayedPart | None = None

    def name(self, midi: int, at: Fraction) -> str:
        """A note's name at a time: as said, by the chart's chord there, else by the key."""
        if (at, midi) in self.said:
            return self.said[at, midi]
        place = bisect_right(self.chords, at, key=lambda each: each[0])
        chord = self.chords[place - 1][1] if place else ""
        symbol = read_symbol(chord) if chord and reads(chord) else None
        if symbol is None or symbol.is_no_chord:
            return midi_to_name(midi, self.key)
        return spelled(midi, symbol.root, symbol.degrees, self.key)

    @property
    def staves(self) -> tuple[int, ...]:
        """The staves it is written on."""
        if self.lower is not None:
            return (NOTES, LOWER)
        return (ALONE,) if self.tuning is None else (NOTES, TABLATURE)

    def on(self, staff: int) -> PlayedPart:
        """What stands on one of the staves."""
        return self.lower if staff == LOWER and self.lower is not None else self

    @property
    def middle(self) -> float:
        """The mean of all notes (MIDI), weighed alike however long they are; 60 for none."""
        every = [midi for notes in self.strokes.values() for each in notes for midi in each.midi]
        return sum(every) / len(every) if every else 60.0

    def heard_in(self, start: Fraction, end: Fraction) -> tuple[Note, ...]:
        """The notes that begin or go on as a stretch begins, which no stroke divides."""
        place = bisect_right(self.starts, start)
        if not place:
            return ()
        return tuple(
            note
            for note in self.strokes[self.starts[place - 1]]
            if note.start == start or (note.end > start and not note.muted)
        )


def played(
    place: PartView, tuning: StringTuning | None, capos: Capos, bars: TempoMap, key: Key | None
) -> PlayedPart:
    """Return what a part plays, straight. Raises LogbookError as `perform` does."""
    straight = tuple(replace(each, feel="straight") for each in place.part.patterns)
    place = replace(place, part=replace(place.part, patterns=straight))
    strokes: dict[Fraction, tuple[Note, ...]] = {}
    for note in perform(place, bars):
        strokes[note.start] = (*strokes.get(note.start, ()), note)
    edges = {each for notes in strokes.values() for note in notes for each in note[:2]}
    return PlayedPart(
        strokes,
        tuple(sorted(strokes)),
        tuple(sorted(edges)),
        tuning,
        (whole_capo(tuning, capos) or 0) if tuning else 0,
        key,
        tuple(_named(place, bars)),
    )


def played_without_frets(
    place: PartView,
    bars: TempoMap,
    key: Key | None,
    semitones: int,
    names: Mapping[str, str],
) -> PlayedPart:
    """Return what a part plays whose voicings are said in notes, as it is written.

    `key` and `names` (by label) are what its player reads, `semitones` above what sounds.
    Raises LogbookError as `perform` does.
    """
    found = played(place, None, (), bars, key)
    return found._replace(
        strokes={
            at: tuple(
                note._replace(midi=tuple(midi + semitones for midi in note.midi)) for note in notes
            )
            for at, notes in found.strokes.items()
        },
        chords=tuple(
            sorted(
                (bars.wholes_at(chart_point(entry)), names.get(entry.voicing, entry.voicing))
                for entry in place.part.chart
            )
        ),
    )


def melody_played(place: PartView, bars: TempoMap, key: Key | None, semitones: int) -> PlayedPart:
    """Return a part's melody as its player reads it, `semitones` above what sounds.

    `key` is the key it is written in. Raises LogbookError where it cannot be read.
    """
    strokes: dict[Fraction, tuple[Note, ...]] = {}
    said: dict[tuple[Fraction, int], str] = {}
    for sounding, note in zip(sounding_melody(place, bars), melody_notes(place, bars), strict=True):
        written = note._replace(midi=tuple(midi + semitones for midi in note.midi))
        strokes[note.start] = (*strokes.get(note.start, ()), written)
        name = moved_note(sounding.name, semitones) if semitones else sounding.name
        said[note.start, written.midi[0]] = name
    edges = {each for notes in strokes.values() for note in notes for each in note[:2]}
    return PlayedPart(strokes, tuple(sorted(strokes)), tuple(sorted(edges)), None, 0, key, (), said)


_MIDDLE_C = 60


def on_two_staves(part: PlayedPart) -> PlayedPart:
    """The same on two staves, parted at middle C, where it goes to both sides of it."""
    every = [midi for notes in part.strokes.values() for each in notes for midi in each.midi]
    if not every or min(every) >= _MIDDLE_C or max(every) < _MIDDLE_C:
        return part
    return _only(part, lambda midi: midi >= _MIDDLE_C)._replace(
        lower=_only(part, lambda midi: midi < _MIDDLE_C)
    )


def _only(part: PlayedPart, wanted: Callable[[int], bool]) -> PlayedPart:
    """The notes on one side; strokes keep their places, so that what is held ends with them."""
    strokes = {
        at: tuple(note for note in notes if note.midi and wanted(note.midi[0]))
        for at, notes in part.strokes.items()
    }
    return part._replace(strokes=strokes)


def _named(place: PartView, bars: TempoMap) -> list[tuple[Fraction, str]]:
    """The names of a part's chords, each with when it starts, in order of time."""
    names = {each.label: each.name or each.label for each in place.part.voicings}
    found = [
        (bars.wholes_at(chart_point(entry)), names.get(entry.voicing, entry.voicing))
        for entry in place.part.chart
    ]
    return sorted(found)


def cuts(
    part: PlayedPart, start: Fraction, length: Fraction, others: Sequence[Fraction]
) -> list[Fraction]:
    """Where notes begin, end or are divided in a bar, from its start; `others` are cut too."""
    inside = part.edges[bisect_left(part.edges, start) : bisect_right(part.edges, start + length)]
    found = {Fraction(0), length, *others, *(edge - start for edge in inside)}
    return sorted(each for each in found if 0 <= each <= length)


def is_silent(part: PlayedPart, start: Fraction, length: Fraction) -> bool:
    """Whether nothing is heard in a bar, on any staff."""
    if part.lower is not None and not is_silent(part.lower, start, length):
        return False
    return not any(
        part.heard_in(start + begin, start + end)
        for begin, end in pairwise(cuts(part, start, length, ()))
    )


def write_stretch(
    measure: Element,
    part: PlayedPart,
    start: Fraction,
    stretch: tuple[Fraction, Fraction],
    ticks: int,
    staff: int,
) -> None:
    """Write what is heard in a stretch of a bar that begins at `start`, on one staff.

    `ticks` are divisions a whole note.
    """
    begin, end = start + stretch[0], start + stretch[1]
    notes = part.heard_in(begin, end)
    if staff == TABLATURE:
        notes = tuple(note for note in notes if note.stroke not in _HITS)
    at = begin
    for wholes in values_of(end - begin):
        # After its first value a muted stroke is over.
        here = tuple(note for note in notes if note.start == at or not note.muted)
        _write_value(measure, part, here, (at, at + wholes), ticks, staff)
        at += wholes


def write_bar_of_rest(measure: Element, duration: int, staff: int) -> None:
    """Write a whole bar of rest on one staff; `duration` is in divisions."""
    note = _sub(measure, "note")
    _sub(note, "rest", measure="yes")
    _text(note, "duration", str(duration))
    _text(note, "voice", _STAFF_VOICES[staff])
    _write_staff(note, staff)


def _write_staff(note: Element, staff: int) -> None:
    if staff != ALONE:
        _text(note, "staff", _STAFF_NUMBERS[staff])


def _write_value(
    measure: Element,
    part: PlayedPart,
    notes: tuple[Note, ...],
    span: tuple[Fraction, Fraction],
    ticks: int,
    staff: int,
) -> None:
    start, end = span
    struck_next = end in part.strokes
    if not notes:
        note = _sub(measure, "note")
        _sub(note, "rest")
        _finish(note, end - start, ticks, staff)
        return
    written: set[int] = set()
    for each in sorted(notes, key=lambda note: -note.string):
        midi = each.midi[0] if each.midi else 0
        if staff != TABLATURE and midi in written:
            continue  # the same pitch on two strings is one head
        written.add(midi)
        note = _sub(measure, "note")
        if len(written) > 1:
            _sub(note, "chord")
        if each.midi:
            _write_pitch(_sub(note, "pitch"), part.name(midi, each.start))
        else:
            unpitched = _sub(note, "unpitched")
            _text(unpitched, "display-step", "B")
            _text(unpitched, "display-octave", "4")
        ties = []
        if not each.muted:
            ties += ["stop"] if start > each.start else []
            ties += ["start"] if each.end > end and not struck_next else []
        _finish(note, end - start, ticks, staff, ties=ties, cross=each.muted)
        _write_notations(note, part, each, midi, ties, staff)


def _finish(
    note: Element,
    wholes: Fraction,
    ticks: int,
    staff: int,
    *,
    ties: Sequence[str] = (),
    cross: bool = False,
) -> None:
    """Write what stands behind a note's pitch, up to its staff."""
    _text(note, "duration", str(int(wholes * ticks)))
    for tie in ties:
        _sub(note, "tie", type=tie)
    _text(note, "voice", _STAFF_VOICES[staff])
    write_value(note, wholes)
    if cross:
        _text(note, "notehead", "x")
    _write_staff(note, staff)


def _write_notations(
    note: Element, part: PlayedPart, each: Note, midi: int, ties: Sequence[str], staff: int
) -> None:
    if not ties and staff != TABLATURE:
        return
    notations = _sub(note, "notations")
    for tie in ties:
        _sub(notations, "tied", type=tie)
    if staff == TABLATURE and part.tuning is not None:
        technical = _sub(notations, "technical")
        string = part.tuning.strings[len(part.tuning) - each.string]
        fret = midi - string.course_midi[0] - part.capo
        _text(technical, "string", str(each.string))
        _text(technical, "fret", str(max(fret, 0)))


def values_of(wholes: Fraction) -> Iterator[Fraction]:
    """Divide a length into note values, longest first; one that has a value stays whole."""
    while wholes:
        if typed(wholes)[0] or typed(wholes * 3 / 2)[0]:
            yield wholes
            return
        largest = max((each for each in TYPES if each < wholes), default=wholes)
        yield largest
        wholes -= largest


def typed(wholes: Fraction) -> tuple[str, int]:
    """The note type of a length and its dots; empty where no plain note is as long."""
    for dots, factor in enumerate((Fraction(1), Fraction(3, 2), Fraction(7, 4))):
        if wholes / factor in TYPES:
            return TYPES[wholes / factor], dots
    return "", 0


def write_value(note: Element, wholes: Fraction) -> None:
    """Write what a note or rest looks like: its type, dots, triplet; else nothing."""
    kind, dots = typed(wholes)
    triplet = not kind
    if triplet:
        kind, dots = typed(wholes * 3 / 2)
    if not kind:
        return
    _text(note, "type", kind)
    for _ in range(dots):
        _sub(note, "dot")
    if triplet:
        change = _sub(note, "time-modification")
        _text(change, "actual-notes", "3")
        _text(change, "normal-notes", "2")


def fineness(part: PlayedPart, bars: TempoMap, numbers: range) -> Iterator[Fraction]:
    """Lengths, from bar starts, that divisions have to be fine enough for."""
    if part.lower is not None:
        yield from fineness(part.lower, bars, numbers)
    starts = [bars.bar_start(bar) for bar in numbers]
    for start, end in pairwise([*starts, bars.bar_start(numbers[-1] + 1)]):
        for place, after in pairwise(cuts(part, start, end - start, ())):
            yield from values_of(after - place)


def _write_pitch(pitch: Element, name: str) -> None:
    note = read_note(name)
    assert note is not None
    alter = name[1 : note.end].count("#") - name[1 : note.end].count("b")
    _text(pitch, "step", name[0].upper())
    if alter:
        _text(pitch, "alter", str(alter))
    _text(pitch, "octave", name[note.end :])


def _text(parent: Element, tag: str, text: str) -> Element:
    child = _sub(parent, tag)
    child.text = text
    return child
