"""Voicings said as notes, on instruments without frets: moved to a key, and as they are played.

Conventions. Every note moves as far as the key does; it takes its letter from its chord in the new
key, else it moves by fifths as the keys do. A voicing that the instrument does not reach there
goes an octave up or down, a line of single notes as a whole where that helps; what still lies
outside moves by octaves note by note. Whoever played beyond the usual range can do so again. Notes
are written the way the part says them, written or sounding. To be played, a part's notes lie on as
many strings as its widest chord has, all tuned to note 0, so that patterns strike them too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logbook.arranging.moved import Moved
from logbook.errors import LogbookError
from logbook.records.chord_names import claimed_name
from logbook.records.context import kind_of_part, sounding_pitches, transposition_of
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.parts import Part, Voicing
from logbook.strings.frets import Position, Stopped
from logbook.strings.tunings import OpenString, StringTuning
from logbook.theory.compass import Compass, compass_of, moved_note, reach_said
from logbook.theory.keys import Key
from logbook.theory.notes import fifths_to_name, name_to_fifths, read_note
from logbook.theory.pitch import midi_to_name, name_to_midi, octave_of, spelled
from logbook.theory.symbols import read_symbol, reads

HELD = "notes"  # the kind of a tuning that stands in for notes
_OCTAVE = 12
_PLAINEST = (-8, 12)  # Fb to B#: what lies beyond in fifths has more than one sign
_ORDER = (0, -1, 1, -2, 2)


def sounding_notes(log: Log, part: Part, voicing: Voicing) -> tuple[str, ...]:
    """The notes of a voicing as they sound, as said; none where it is not said in notes.

    Raises LogbookError for what is no note.
    """
    if not voicing.pitches:
        return ()
    return sounding_pitches(voicing.pitches, part.pitched, transposition_of(log, part))


def move_pitches(place: PartView, candidate: Part, moved: Moved, remarks: list[str]) -> Part:
    """`candidate`, a part with its words moved, with its voicings' notes moved too.

    `place` is the part as recorded. What goes to another octave, or cannot be read, is added to
    `remarks`.
    """
    log = place.log
    same = _written_up(log, place.part) == _written_up(log, candidate) and compass_of(
        kind_of_part(log, place.part)
    ) == compass_of(kind_of_part(log, candidate))
    if same and not moved.changes_names:
        return candidate
    recorded: dict[int, tuple[str, ...]] = {}
    for number, voicing in enumerate(place.part.voicings):
        try:
            if names := sounding_notes(log, place.part, voicing):
                recorded[number] = names
        except LogbookError as error:
            remarks.append(
                f"{candidate.name}, voicing {voicing.label}: {error}; its notes stay as they are"
            )
    if not recorded:
        return candidate
    compass = compass_of(kind_of_part(log, candidate))
    notes = {at: [name_to_midi(each) for each in names] for at, names in recorded.items()}
    lows, highs = min(map(min, notes.values())), max(map(max, notes.values()))
    reach = (0, 127)
    if compass is not None:
        low, high = compass.midi
        reach = (min(low, lows), max(high, highs)) if same else (low, high)
    goals = {at: [note + moved.steps for note in each] for at, each in notes.items()}
    placed = placed_within(goals, reach)
    up = _written_up(log, candidate)
    voicings = list(candidate.voicings)
    for at, names in recorded.items():
        voicing = voicings[at]
        low_to_high = sorted(zip(placed[at], names, strict=True))
        sounding = [_spelled(name, to, claimed_name(voicing), moved) for to, name in low_to_high]
        said = [moved_note(each, up) if up else each for each in sounding]
        voicings[at] = replace(voicing, pitches=" ".join(said))
    remarks += _octaves_said(candidate.name, voicings, goals, placed, compass)
    return replace(candidate, voicings=tuple(voicings))


def _written_up(log: Log, part: Part) -> int:
    """How far above what sounds the part's notes are said, in semitones."""
    return transposition_of(log, part) if part.pitched == "written" else 0


def placed_within(goals: dict[int, list[int]], reach: tuple[int, int]) -> dict[int, list[int]]:
    """The notes of each voicing in octaves that the instrument reaches, in their order."""
    low, high = reach
    every = [note for notes in goals.values() for note in notes]
    if all(len(notes) == 1 for notes in goals.values()):
        for octave in _ORDER[:3]:
            by = octave * _OCTAVE
            if low <= min(every) + by and max(every) + by <= high:
                return {at: [note + by for note in notes] for at, notes in goals.items()}
    return {at: _chord_within(notes, low, high) for at, notes in goals.items()}


def _chord_within(notes: list[int], low: int, high: int) -> list[int]:
    for octave in _ORDER:
        by = octave * _OCTAVE
        if low <= min(notes) + by and max(notes) + by <= high:
            return [note + by for note in notes]
    placed = []
    for note in notes:
        while note < low and note + _OCTAVE <= high:
            note += _OCTAVE
        while note > high and note - _OCTAVE >= low:
            note -= _OCTAVE
        placed.append(note)
    return placed


def _spelled(name: str, midi: int, chord: str, moved: Moved) -> str:
    """A recorded note where it arrives, by its chord's letters, else as the keys move."""
    symbol = read_symbol(chord) if chord and reads(chord) else None
    if symbol is not None and not symbol.is_no_chord:
        return spelled(midi, symbol.root, symbol.degrees, moved.key)
    return spelled_as_keys_move(name, midi, moved)


def spelled_as_keys_move(name: str, midi: int, moved: Moved) -> str:
    """A recorded note where it arrives, its letter moved by fifths as the keys are."""
    if moved.old_key is not None and moved.key is not None:
        read = read_note(name)
        assert read is not None
        fifths = name_to_fifths(name[: read.end]) + _fifths_between(moved.old_key, moved.key)
        if _PLAINEST[0] <= fifths <= _PLAINEST[1] and not (fifths * 7 - midi) % _OCTAVE:
            letter = fifths_to_name(fifths)
            return letter + str(octave_of(midi, letter))
    return midi_to_name(midi, moved.key)


def _fifths_between(old: Key, new: Key) -> int:
    return new.tonic_fifths - old.tonic_fifths


def _octaves_said(
    part: str,
    voicings: Sequence[Voicing],
    goals: dict[int, list[int]],
    placed: dict[int, list[int]],
    compass: Compass | None,
) -> list[str]:
    """What went to another octave, a sentence for each way it went."""
    ways: dict[str, list[str]] = {}
    for at, goal in goals.items():
        by = {to - note for note, to in zip(goal, placed[at], strict=True)}
        if by == {0}:
            continue
        way = _octaves(min(by)) if len(by) == 1 else "partly to another octave"
        ways.setdefault(way, []).append(voicings[at].name or voicings[at].label)
    reach = _reach(compass)
    told = []
    for way, names in ways.items():
        every = len(names) == len(goals) and len(names) > 1
        what = "all of its notes go" if every else f"{' and '.join(names)} {_go(names)}"
        told.append(f"{part}: {what} {way}{reach}")
    return told


def octave_words(semitones: int, compass: Compass | None) -> str:
    """How far notes went, in octaves, and why: "an octave up, as a flute sounds from ..."."""
    return _octaves(semitones) + _reach(compass)


def _octaves(semitones: int) -> str:
    octaves = semitones // _OCTAVE
    count = "an octave" if abs(octaves) == 1 else "two octaves"
    return f"{count} {'up' if octaves > 0 else 'down'}"


def _reach(compass: Compass | None) -> str:
    if compass is None:
        return ""
    return f", as {reach_said(compass)}"


def _go(names: list[str]) -> str:
    return "goes" if len(names) == 1 else "go"


# As it is played


def has_notes(part: Part) -> bool:
    """Whether the part's chart has a chord that is said in notes."""
    said = {each.label for each in part.voicings if each.pitches and not each.frets}
    return any(entry.voicing in said for entry in part.chart)


def notes_of(place: PartView) -> dict[str, tuple[int, ...]]:
    """The notes of each voicing that is said in notes, as they sound, low to high, by label.

    Raises LogbookError, naming the voicing, where one cannot be read.
    """
    found = {}
    for voicing in place.part.voicings:
        if voicing.frets:
            continue
        try:
            names = sounding_notes(place.log, place.part, voicing)
        except LogbookError as error:
            raise LogbookError(
                f"{place.part.name}, voicing {voicing.label}: {error.problem}", error.remedy
            ) from error
        if names:
            found[voicing.label] = tuple(sorted({name_to_midi(each) for each in names}))
    return found


def held_notes(place: PartView) -> tuple[StringTuning, dict[str, Position]]:
    """A part's notes as a stand-in for strings: the tuning, and a position for each voicing.

    Raises LogbookError as `notes_of` does.
    """
    notes = notes_of(place)
    count = max(map(len, notes.values()), default=1)
    tuning = StringTuning(
        name="notes", strings=(OpenString("C-1", 0, ("C-1",)),) * count, kind=HELD
    )
    positions: dict[str, Position] = {
        label: tuple(Stopped(each[at], 0) if at < len(each) else None for at in range(count))
        for label, each in notes.items()
    }
    return tuning, positions
