"""Chord names from notes, ranked on principle.

The notes become a mask of twelve pitch classes above the bass, and `ranking` says how the mask can
be read and what each reading costs; the key and the chord before then tip the balance between near
equals. Fewest points first. (Judgement throughout; common practice.)

Everything is counted from the bass, so a voicing is named alike in every transposition. Where the
lowest note is no bass (a ukulele, a banjo, high strings) a name has no slash for an inversion.

The same few hundred voicings come back on every sheet: what was named last is kept, some
thousands of answers at most.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from functools import lru_cache
from operator import index as whole_number

from logbook.errors import LogbookError
from logbook.theory.chord_name import PLAUSIBLE_BELOW, ChordName
from logbook.theory.context import MOST_GAINED, MOST_LOST, PLACE_BITS, ChordContext, context_of
from logbook.theory.keys import Key
from logbook.theory.kinds import ChordKind, SuffixReading
from logbook.theory.ranking import (
    COUNTS,
    HANDS,
    INCOMPLETE,
    NO_BASS,
    TURNED_POWER,
    HeardNotes,
    far_fetched,
    heard_in,
    hollow_in,
    intervals_of,
)

__all__ = ["ChordName", "name_chord"]

_MOST = 20  # readings given for ordinary chords
_WINDOW = 50  # and none dearer than the best by more than this
_ODD_FROM = 16  # from here on the notes are odd enough to list common kinds on the bass
_ODDER_FROM = 35  # and from here on chords on other roots with two notes added
_FAR = 100  # the cost of notes that cannot be read at all
_NO_OCTAVES = ~sum(1 << step for step in range(0, 128, 12))
_TELLING = [step if step in (3, 4, 5, 10) else 13 * (step > 12) for step in range(128)]
_SIXTH_TO_OCTAVE, _OCTAVE = 0x1FC0, 0x1000  # from six semitones above the lowest note to twelve
_ROOTS = [[(low + step) % 12 for step in range(12)] for low in range(12)]

_new = tuple.__new__  # a name is made some fifteen times a naming
_PLACE = (1 << PLACE_BITS) - 1
_Readings = tuple[tuple[int, SuffixReading], ...]
"""How notes can be read: the root's semitones above the lowest note, and the reading."""


def name_chord(
    midi: Sequence[int],
    *,
    key: str | Key | None = None,
    bass: int | None = None,
    before: str | None = None,
    bass_counts: bool | None = None,
) -> tuple[ChordName, ...]:
    """Names of the chord that these MIDI note numbers make, best first; never empty.

    The notes stand in the order of the strings. `key` spells the names and breaks ties; `bass` is
    the pitch class that another part plays below; `before` is the symbol of the chord before.
    `bass_counts` says whether the lowest note is heard as the bass: left alone, it is where the
    first note is the lowest, and it is not on re-entrant strings, where the first string lies
    higher. Notes that deserve no name come back first as a ChordName with `named` False that lists
    them. Raises LogbookError when there are no notes, for what is not a MIDI note number 0-127,
    for a key that does not exist and for a chord before that cannot be read.
    """
    try:
        notes = [note if type(note) is int else _as_note(note) for note in midi]
    except TypeError:
        raise LogbookError(
            f"{midi!r} is not a list of notes", "give MIDI note numbers, such as [60, 64, 67]"
        ) from None
    if not notes:
        raise LogbookError("there are no notes to name", "give at least one note number")
    lowest = min(notes)
    if lowest < 0 or max(notes) > 127:
        wrong = lowest if lowest < 0 else max(notes)
        raise LogbookError(
            f"{wrong} is not a MIDI note number", "give whole numbers 0 to 127 (middle C is 60)"
        )
    role = COUNTS
    if bass is not None:
        lowest = _as_note(bass) % 12
    elif notes[0] != lowest if bass_counts is None else not bass_counts:
        role = HANDS if len(notes) > 1 and notes[0] <= notes[1] else NO_BASS
        lowest = notes[0] if role == HANDS else lowest
    low = lowest % 12
    sounding = 0
    for note in notes:
        sounding |= 1 << note
    context = context_of(key, before) if key is not None or before else None
    if bass is not None:
        return _names(HeardNotes(_folded(sounding << 12 - low) | 1, COUNTS, 0, 0), low, context)
    heard = _heard(sounding, lowest, role)
    return _names(heard, low, context)


def _heard(sounding: int, lowest: int, role: int) -> HeardNotes:
    """The notes, bit n set for MIDI note n, as they are heard from the one taken for the lowest."""
    above = sounding >> lowest
    others = above & _NO_OCTAVES
    second = _TELLING[(others & -others).bit_length() - 1] if others else 0
    if second == 5 and above & _SIXTH_TO_OCTAVE == _OCTAVE:
        second = TURNED_POWER
    top = 6 if second == 4 and above.bit_length() % 12 == 7 and above.bit_length() > 13 else 0
    if role == HANDS:
        low = lowest % 12
        if sounding & ((1 << lowest) - 1) & _NO_OCTAVES << low | sounding & ((1 << low) - 1):
            second = 0  # something else lies below
        above = sounding << 12 - low
    return _new(HeardNotes, (_folded(above), role, second, top))


def _folded(steps: int) -> int:
    """A mask of twelve bits from one of steps over any number of octaves."""
    mask = 0
    while steps:
        mask |= steps & 0xFFF
        steps >>= 12
    return mask


def _as_note(note: object) -> int:
    """A whole number of any make (numpy's too) as Python's own."""
    try:
        return whole_number(note)  # type: ignore[arg-type]
    except TypeError:
        raise LogbookError(
            f"{note!r} is not a MIDI note number",
            "give whole numbers 0 to 127 (middle C is 60); name_to_midi reads names such as C4",
        ) from None


@lru_cache(maxsize=4096)
def _names(heard: HeardNotes, low: int, context: ChordContext | None) -> tuple[ChordName, ...]:
    counts, roots = heard[1] == COUNTS, _ROOTS[low]
    within = _WINDOW + INCOMPLETE if heard[1] == NO_BASS else _WINDOW
    if context:
        weighed, readings = _in_context(heard, low, context)
        best = weighed[0] >> PLACE_BITS if weighed else _FAR
        end = bisect_left(weighed, best + within + 1 << PLACE_BITS, 0, min(_MOST, len(weighed)))
        names = [
            _new(ChordName, (each >> PLACE_BITS, roots[step], reading, low, counts, context, None))
            for each in weighed[:end]
            for step, reading in (readings[each & _PLACE],)
        ]
    else:
        found = heard_in(heard)
        best = found[0][0] if found else _FAR
        names = [
            _new(ChordName, (cost, roots[step], reading, low, counts, None, None))
            for cost, step, reading in found[:_MOST]
            if cost <= best + within
        ]
    if best >= PLAUSIBLE_BELOW:
        names.insert(0, ChordName(0, low, _nameless(heard.mask), low, True, context, None))
    if best >= _ODD_FROM:
        held = {(name[1], name[2][1][0]) for name in names}
        names += [
            _new(ChordName, (cost, root, reading, low, counts, context, None))
            for cost, step, reading in far_fetched(heard.mask, best >= _ODDER_FROM)
            if ((root := roots[step]), reading[1][0]) not in held
        ]
    return tuple(names)


def _in_context(heard: HeardNotes, low: int, context: ChordContext) -> tuple[list[int], _Readings]:
    """The readings as key and the chord before weigh them, the cheapest first.

    Each is one whole number, which sorts fast: its cost, and below that its place in the readings.
    """
    near, hollow, readings = _near(heard)
    costs, above = context.costs, low << 12
    weighed = [cost + costs[chord + above] for cost, chord in near]
    for place in hollow:
        weighed[place] += context.implied(low, readings[place][1]) << PLACE_BITS
    weighed.sort()
    return weighed, readings


@lru_cache(maxsize=16384)
def _near(heard: HeardNotes) -> tuple[tuple[tuple[int, int], ...], tuple[int, ...], _Readings]:
    """The readings that some context could bring among those given, and which are hollow.

    A reading is dropped where it stays outside though its context helps it and hinders all others.
    The first tuple holds `cost << PLACE_BITS | place` and `step << 12 | mask of the kind` of each.
    """
    found = heard_in(heard)
    hollow = hollow_in(heard)
    limit = (found[0][0] if found else 0) + _WINDOW + INCOMPLETE * (heard.role == NO_BASS)
    if len(found) > _MOST:
        limit = min(limit, found[_MOST - 1][0])
    limit += MOST_GAINED + MOST_LOST
    places = [at for at, each in enumerate(found) if each[0] <= limit or at in hollow]
    near = tuple(
        (cost << PLACE_BITS | place, step << 12 | reading[1][2])
        for place, (cost, step, reading) in enumerate(map(found.__getitem__, places))
    )
    return (
        near,
        tuple(place for place, at in enumerate(places) if at in hollow),
        tuple(found[at][1:] for at in places),
    )


@lru_cache(maxsize=4096)
def _nameless(mask: int) -> SuffixReading:
    """Notes that deserve no name, as a reading without degrees."""
    notes = intervals_of(mask)
    what = {1: "one note makes no chord", 2: "two notes with no chord name"}.get(
        len(notes), "a cluster that deserves no name"
    )
    kind = ChordKind(what, (), mask, notes, 0, (), False)
    return SuffixReading(0, kind, frozenset(), frozenset(), (), mask)
