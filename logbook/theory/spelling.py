"""Spelling: which of its names a chord's root takes in a key, and which name each note takes.

One engine for names, sheets, transpositions and MusicXML. A chord's tones take their letters from
its root and degrees (E7 is E G# B D in every key). The key decides the root, and the notes that no
chord name claims:

- a root of the scale keeps its name, and so does the raised seventh of a minor key under the
  diminished chords that the key builds on it;
- a diminished chord on any other root is the raised degree below the next scale tone (C#dim7 in C,
  never Dbdim7), or what the chord after it says: the leading note of a root a semitone above, and
  on the way down from b3, b6 or b7 the flat;
- any other root is spelled by the harmonic chromatic scale (`Key.spell_fifths`), or so that it
  falls a fifth or a semitone to the root after it (Gb7 to F, F#7 to B);
- where a root from outside the scale, or one called Fb, Cb, E# or B#, would force a double
  accidental and its enharmonic neighbour would not, the neighbour stands (A7 in Db, not Bbb7; C7 in
  C#, not B#7).

Common practice, no source; compared with music21 in tests/reference.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from logbook.theory.degrees import degree_fifths, degree_in_chord, degree_semitones
from logbook.theory.keys import Key
from logbook.theory.notes import (
    fifths_to_name,
    name_to_fifths,
    nearest_fifths,
    plain_root,
)

_FLATTEST, _SHARPEST = -8, 12  # Fb and B#: beyond them stand double accidentals
_ODD_NAMES = frozenset((-8, -7, 11, 12))  # Fb Cb E# B#
_DOUBLE, _ODD = 10, 1
_LEADING, _FIFTH_ABOVE = 5, 1


def spell_root(
    pitch_class: int,
    degrees: Iterable[str],
    key: Key | None = None,
    after: str | None = None,
) -> str:
    """Name of the root of a chord with these degrees in a key: (1, dim7, C major) -> "C#".

    `after` is the name of the root of the chord that follows, where it is known.
    """
    follows = None if after is None else name_to_fifths(after)
    return fifths_to_name(root_fifths(pitch_class % 12, tuple(degrees), key, follows))


@lru_cache(maxsize=8192)  # a vocabulary: the roots of thirty keys under some ninety kinds
def root_fifths(
    pitch_class: int, degrees: tuple[str, ...], key: Key | None, after: int | None = None
) -> int:
    """The same as a place on the line of fifths; `after` is one too."""
    minor, diminished = "b3" in degrees, "b3" in degrees and "b5" in degrees
    if key is None:
        plain = name_to_fifths(plain_root(pitch_class, minor))
        if after is None or not diminished:
            return plain
        led = _led(pitch_class, after, pitch_class, diminished)
        return plain if led is None or not -6 <= led <= _SHARPEST else led
    usual = key.spell_fifths(pitch_class)
    if key.holds(usual) and not (diminished and after is not None):
        dominant = key.is_minor and usual == key.tonic_fifths + _FIFTH_ABOVE
        odd = usual in _ODD_NAMES and not dominant
        return _plainer(usual, degrees, key, minor_second=False, free=False) if odd else usual
    if usual == key.raised_seventh and diminished and "b7" not in degrees and after is None:
        return usual  # vii of a minor key, double sharp or not
    above = (pitch_class - key.pitch_class) % 12
    led = _led(pitch_class, after, above, diminished) if after is not None else None
    if led is None and key.holds(usual):
        return usual
    if led is None and diminished and ("b7" not in degrees or above in (1, 6)):
        led = key.spell_fifths((pitch_class + 1) % 12) + _LEADING
    if led is not None and diminished and led <= _SHARPEST:
        return led
    free = led is None and above in ((4, 6, 9, 11) if key.is_minor else (1, 6))
    if above == 1 and not minor:
        free = False
    return _plainer(usual if led is None else led, degrees, key, minor and above == 1, free=free)


def _led(pitch_class: int, after: int, above: int, diminished: bool) -> int | None:
    """The root that leads to the root after it, None where it leads nowhere."""
    gap = (after * 7 - pitch_class) % 12
    if diminished:
        if gap == 1:
            return after + _LEADING
        return after - _LEADING if gap == 11 and above not in (1, 6) else None
    if gap == 5:
        return after + _FIFTH_ABOVE
    return after - _LEADING if gap == 11 else None


def _plainer(
    place: int, degrees: tuple[str, ...], key: Key, minor_second: bool, *, free: bool
) -> int:
    """A place, or its enharmonic neighbour where that spares double accidentals.

    A root that is `free` also spares Fb, Cb, E# and B# that the key does not have; a minor chord on
    the second semitone of a key is the raised tonic where both are as plain.
    """
    other = place - 12 if place > 2 else place + 12
    if not _FLATTEST < other < _SHARPEST or (other in _ODD_NAMES and not key.holds(other)):
        return place
    here, there = (_roughness(each, degrees, key) for each in (place, other))
    if here >= _DOUBLE and there < here // _DOUBLE * _DOUBLE:
        return other
    if free and there < _DOUBLE:
        raised = minor_second and other > place
        return other if there < here or (raised and there == here) else place
    return place


def _roughness(root: int, degrees: tuple[str, ...], key: Key) -> int:
    rough = 0
    for degree in degrees:
        place = root + degree_fifths(degree)
        if not _FLATTEST <= place <= _SHARPEST:
            rough += _DOUBLE
        elif place in _ODD_NAMES and not key.holds(place):
            rough += _ODD
    return rough


def note_fifths(
    pitch_class: int, root: int, degrees: tuple[str, ...], key: Key | None = None
) -> int:
    """Place of a note beside a chord: the chord's own letter, else the key's plainest name.

    `root` is the chord's root as a place on the line of fifths. Without a key a note that the
    chord does not claim is spelled from the root as the degree it makes there.
    """
    semitones = (pitch_class - root * 7) % 12
    for degree in degrees:
        if degree_semitones(degree) == semitones:
            return root + degree_fifths(degree)
    if key is not None:
        return plain_in_key(pitch_class, key)
    place = root + degree_fifths(degree_in_chord(semitones, degrees))
    if _FLATTEST < place < _SHARPEST:
        return place
    return nearest_fifths(pitch_class, 2.0)


def note_beside(
    pitch_class: int, root: str, degrees: tuple[str, ...], key: Key | None = None
) -> str:
    """Name of a note beside a chord: (1, "A", A7, C major) -> "C#"."""
    return fifths_to_name(note_fifths(pitch_class % 12, name_to_fifths(root), degrees, key))


def plain_in_key(pitch_class: int, key: Key) -> int:
    """Place of a note that no chord claims: as the key has it, and plain where it has it not."""
    place = key.spell_fifths(pitch_class)
    if key.holds(place) or (_FLATTEST < place < _SHARPEST and place not in _ODD_NAMES):
        return place
    return nearest_fifths(pitch_class, 2.0)


def moved_root(root: str, degrees: tuple[str, ...], old: Key, new: Key) -> str:
    """A written root moved by fifths from key to key: (C#, dim7, C, Bb) -> B.

    Where that would give a root outside the new key double accidentals, its neighbour stands, and
    so does the neighbour of a Fb, Cb, E# or B# that the new key would not write either.
    """
    place = name_to_fifths(root) + new.tonic_fifths - old.tonic_fifths
    if new.holds(place) or (place == new.raised_seventh and "b5" in degrees):
        return fifths_to_name(place)
    usual = root_fifths(place * 7 % 12, degrees, new)
    if not _FLATTEST <= place <= _SHARPEST or (place in _ODD_NAMES and place != usual):
        return fifths_to_name(usual)
    return fifths_to_name(_plainer(place, degrees, new, minor_second=False, free=False))


def plain_move(root: str, degrees: tuple[str, ...], semitones: int) -> str:
    """A root moved where no key is known: plain, a diminished chord on the side it was written."""
    pitch = (name_to_fifths(root) * 7 + semitones) % 12
    if {"b3", "b5"} <= set(degrees):
        place = name_to_fifths(root) + nearest_fifths(semitones, 0.0)
        if -6 <= place <= 8:
            return fifths_to_name(place)
    return plain_root(pitch, "b3" in degrees)
