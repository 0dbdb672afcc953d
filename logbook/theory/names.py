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

from collections.abc import Sequence
from functools import lru_cache
from operator import index as whole_number
from operator import itemgetter

from logbook.errors import LogbookError
from logbook.theory.chord_name import PLAUSIBLE_BELOW, ChordName
from logbook.theory.context import ChordContext, context_of
from logbook.theory.keys import Key
from logbook.theory.kinds import ChordKind, SuffixReading
from logbook.theory.ranking import (
    COUNTS,
    HANDS,
    INCOMPLETE,
    NO_BASS,
    TURNED_POWER,
    Found,
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

_new = tuple.__new__  # a name is made some twenty times a naming


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
    them. Raises LogbookError when there are no notes, for what is no MIDI note number 0-127, for a
    key that does not exist and for a chord before that cannot be read.
    """
    try:
        notes = [note if type(note) is int else _as_note(note) for note in midi]
    except TypeError:
        raise LogbookError(
            f"{midi!r} is no list of notes", "give MIDI note numbers, such as [60, 64, 67]"
        ) from None
    if not notes:
        raise LogbookError("there are no notes to name", "give at least one note number")
    lowest = min(notes)
    if lowest < 0 or max(notes) > 127:
        wrong = lowest if lowest < 0 else max(notes)
        raise LogbookError(
            f"{wrong} is no MIDI note number", "give whole numbers 0 to 127 (middle C is 60)"
        )
    role = COUNTS
    if bass is not None:
        lowest = _as_note(bass) % 12
    elif notes[0] != lowest if bass_counts is None else not bass_counts:
        role = HANDS if len(notes) > 1 and notes[0] <= notes[1] else NO_BASS
        lowest = notes[0] if role == HANDS else lowest
    low = lowest % 12
    mask, above, second, top = 1, 0, 0, 0
    for note in notes:
        step = note - lowest
        mask |= 1 << step % 12
        if step % 12 and (second == 0 or step < second):
            second = step
        if step > top:
            top, above = step, step % 12
    if second == 5 and lowest + 12 in notes and not any(5 < n - lowest < 12 for n in notes):
        second = TURNED_POWER
    register = HeardNotes(mask, role, second if second > 0 else 0, above if top > 12 else 0)
    context = context_of(key, before) if key is not None or before else None
    return _names(register if bass is None else HeardNotes(mask, COUNTS, 0, 0), low, context)


def _as_note(note: object) -> int:
    """A whole number of any make (numpy's too) as Python's own."""
    try:
        return whole_number(note)  # type: ignore[arg-type]
    except TypeError:
        raise LogbookError(
            f"{note!r} is no MIDI note number",
            "give whole numbers 0 to 127 (middle C is 60); name_to_midi reads names such as C4",
        ) from None


@lru_cache(maxsize=4096)
def _names(heard: HeardNotes, low: int, context: ChordContext | None) -> tuple[ChordName, ...]:
    found: Sequence[Found] = heard_in(heard)
    if context:
        found = _in_context(heard, found, low, context)
    best = found[0][0] if found else _FAR
    limit = best + (_WINDOW + INCOMPLETE if heard.role == NO_BASS else _WINDOW)
    counts = heard.role == COUNTS
    names = [
        _new(ChordName, (cost, (low + step) % 12, reading, low, counts, context, None))
        for cost, step, reading in found[:_MOST]
        if cost <= limit
    ]
    if best >= PLAUSIBLE_BELOW:
        names.insert(0, ChordName(0, low, _nameless(heard.mask), low, True, context, None))
    if best >= _ODD_FROM:
        held = {(name[1], name[2][1][0]) for name in names}
        names += [
            _new(ChordName, (cost, root, reading, low, counts, context, None))
            for cost, step, reading in far_fetched(heard.mask, best >= _ODDER_FROM)
            if ((root := (low + step) % 12), reading[1][0]) not in held
        ]
    return tuple(names)


_ROOTS = [[(low + step) % 12 << 12 for step in range(12)] for low in range(12)]
_first = itemgetter(0)


def _in_context(
    heard: HeardNotes, found: Sequence[Found], low: int, context: ChordContext
) -> list[Found]:
    """The readings as key and the chord before weigh them, the cheapest first."""
    costs, roots = context.costs, _ROOTS[low]
    weighed = [
        (cost + costs[roots[step] | reading[1][2]], step, reading) for cost, step, reading in found
    ]
    for place in hollow_in(heard):
        cost, step, reading = weighed[place]
        weighed[place] = cost + context.implied(low, reading), step, reading
    weighed.sort(key=_first)
    return weighed


@lru_cache(maxsize=4096)
def _nameless(mask: int) -> SuffixReading:
    """Notes that deserve no name, as a reading without degrees."""
    notes = intervals_of(mask)
    what = {1: "one note makes no chord", 2: "two notes with no chord name"}.get(
        len(notes), "a cluster that deserves no name"
    )
    kind = ChordKind(what, (), mask, notes, 0, (), False)
    return SuffixReading(0, kind, frozenset(), frozenset(), (), mask)
