"""Chords in a key: the diatonic chords, and any chord's degree as a Roman or a plain number.

Roman numerals are upper case with a major third and lower case with a minor one, with ° for a
diminished, ø for a half-diminished and + for an augmented chord. Plain numbers carry the chord's
own suffix (2m7, 5, b7), in brackets where it starts with a figure: 5(7). In a minor key the degrees
are those of the natural scale, so C in A minor is III; those of a church mode are counted as in
the major or minor key on its tonic, so C in D mixolydian is bVII and F in E phrygian bII.

A Roman numeral's slash says what a chord is applied to (V7/vi), never its bass: inversions have
figures (V6, V65). A plain number's slash is its bass, as a scale degree: 5/7. (Common practice.)
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.chord_symbol import ChordSymbol, suffix_of
from logbook.theory.degrees import degree_fifths
from logbook.theory.keys import Key, as_key, degree_above_tonic
from logbook.theory.notes import fifths_to_name, name_to_fifths, nearest_fifths
from logbook.theory.symbols import read_symbol

_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII")
_DEGREE_OF_FIFTHS = {4: "3", -3: "b3", 1: "5", -6: "b5", 8: "#5", 5: "7", -2: "b7", -9: "bb7"}


_TRIAD_FIGURES = {"3": "6", "5": "64"}
_SEVENTH_FIGURES = {"3": "65", "5": "43", "7": "42"}
_FIGURES = {"": _TRIAD_FIGURES, "7": _SEVENTH_FIGURES}


class DiatonicChord(NamedTuple):
    """A chord built on a degree of a key, with its Roman numeral and its plain number."""

    symbol: str
    roman: str
    number: str


def diatonic_chords(
    key: str | Key, *, sevenths: bool = False, raised_seventh: bool = False
) -> tuple[DiatonicChord, ...]:
    """The seven triads (or seventh chords) of a key, stacked in thirds on its scale.

    A minor key uses its natural scale; `raised_seventh` gives the chords of its harmonic scale
    instead. Raises LogbookError for a key that does not exist.
    """
    home = as_key(key)
    scale = [name_to_fifths(note) for note in home.scale]
    if raised_seventh and home.is_minor:
        scale[6] += 7
    chords = []
    for place in range(7):
        root = scale[place]
        above = [scale[(place + step) % 7] - root for step in ((2, 4, 6) if sevenths else (2, 4))]
        suffix = suffix_of(frozenset(("R", *(_DEGREE_OF_FIFTHS[offset] for offset in above))))
        symbol = read_symbol(fifths_to_name(root) + suffix)
        chords.append(
            DiatonicChord(symbol.symbol, roman_numeral(symbol, home), plain_number(symbol, home))
        )
    return tuple(chords)


def roman_numeral(chord: str | ChordSymbol, key: str | Key) -> str:
    """A chord's degree in a key as a Roman numeral: ("Dm7", "C") -> "ii7", ("E7", "C") -> "V7/vi".

    An inversion has figures ("V6" is G/B in C) where triad or seventh are plain, any other bass
    is named: "IVmaj7 (A in the bass)". A sixth chord is "Iadd6". A diminished chord on a minor
    key's raised seventh degree is plain vii°. N.C. stays N.C. Raises LogbookError for a chord or
    a key that cannot be read.
    """
    symbol, home = _read(chord), as_key(key)
    if symbol.is_no_chord:
        return symbol.symbol
    target = _applied_to(symbol, home)
    if target is not None:
        _, quality, suffix = _said(symbol)
        return _inverted("vii" if quality else "V", quality, suffix, symbol) + f"/{target}"
    alteration, degree = _degree(symbol.root, home)
    numeral, quality, suffix = _said(symbol, degree)
    if home.is_minor and alteration + str(degree) == "#7" and quality == "°":
        alteration = ""
    return _inverted(alteration + numeral, quality, suffix, symbol)


def _said(symbol: ChordSymbol, degree: int = 5) -> tuple[str, str, str]:
    """A chord's numeral by its third, its sign of quality, and what is left of the suffix."""
    numeral, quality, suffix = _ROMAN[degree - 1], "", symbol.suffix
    if "b3" in symbol.degrees:
        numeral = numeral.lower()
    if suffix in ("m7b5", "m9b5"):
        quality, suffix = "ø", suffix[1:-2]
    elif suffix.startswith("dim"):
        quality, suffix = "°", suffix[3:]
    elif suffix.startswith("aug"):
        quality, suffix = "+", suffix[3:]
    elif suffix.startswith("m") and not suffix.startswith("maj"):
        suffix = suffix[1:]
    if suffix.startswith("69"):
        suffix = "add6add9" + suffix[2:]
    elif suffix.startswith("6"):
        suffix = "add" + suffix
    return numeral, quality, suffix


def _inverted(numeral: str, quality: str, suffix: str, symbol: ChordSymbol) -> str:
    """The numeral with figures for its inversion, or with its bass named."""
    if symbol.bass is None:
        return numeral + quality + suffix
    above = name_to_fifths(symbol.bass) - name_to_fifths(symbol.root)
    own = {degree_fifths(degree): degree.lstrip("b#") for degree in symbol.degrees}
    figures = _FIGURES.get(suffix, {}).get(own.get(above, ""))
    if figures is None:
        return f"{numeral}{quality}{suffix} ({symbol.bass} in the bass)"
    return numeral + quality + figures


def _applied_to(symbol: ChordSymbol, key: Key) -> str | None:
    """The degree that a chord from outside the key is the dominant or leading chord of.

    A major triad or seventh chord leads a fifth down, a diminished one a semitone up. None where
    the chord belongs to the key, leads to its tonic or to no triad of it that could be one.
    """
    degrees = set(symbol.degrees)
    assert symbol.root_pc is not None
    root = name_to_fifths(symbol.root)
    if {"3", "b7"} <= degrees or degrees == {"R", "3", "5"}:
        target = root - 1
    elif {"b3", "b5"} <= degrees and not degrees & {"b7", "7"}:
        target = root - 5
    else:
        return None
    notes = {(symbol.root_pc + interval) % 12 for interval in symbol.intervals}
    if notes <= _of_the_key(key) or target == key.tonic_fifths or not key.holds(target):
        return None
    return _target_numeral(key, key.scale.index(fifths_to_name(target)))


def _target_numeral(key: Key, place: int) -> str | None:
    """The numeral of a triad of the key as a passing tonic; None for a diminished one."""
    scale = [name_to_fifths(note) for note in key.scale]
    third, fifth = (scale[(place + step) % 7] - scale[place] for step in (2, 4))
    if fifth != 1:
        return None
    alteration, degree = _degree(key.scale[place], key)
    minor = third == -3 and not (key.is_minor and degree == 5)
    numeral = _ROMAN[degree - 1]
    return alteration + (numeral.lower() if minor else numeral)


def _of_the_key(key: Key) -> set[int]:
    """Pitch classes of the scale, with the raised sixth and seventh of a minor key."""
    raised = {(key.pitch_class + 9) % 12, (key.pitch_class + 11) % 12} if key.is_minor else set()
    return set(key.pitch_classes) | raised


def plain_number(chord: str | ChordSymbol, key: str | Key) -> str:
    """A chord's degree in a key as a plain number: ("Dm7", "C") -> "2m7", ("G/B", "C") -> "5/7"."""
    symbol, home = _read(chord), as_key(key)
    if symbol.is_no_chord:
        return symbol.symbol
    alteration, degree = _degree(symbol.root, home)
    suffix = f"({symbol.suffix})" if symbol.suffix[:1].isdigit() else symbol.suffix
    return f"{alteration}{degree}{suffix}{_bass(symbol, home)}"


def _read(chord: str | ChordSymbol) -> ChordSymbol:
    return chord if isinstance(chord, ChordSymbol) else read_symbol(chord)


def _degree(note: str, key: Key) -> tuple[str, int]:
    """Alteration and scale degree of a note; one that is spelled far from the key is respelled.

    From b5 (six fifths below the tonic) to #2 (nine above) the note keeps the side it is written
    on; beyond, and where it only respells a note of the scale, it takes the degree of the
    harmonic chromatic scale, even if that note's own name would take a double accidental.
    """
    above = name_to_fifths(note) - key.tonic_fifths
    if not -6 <= above <= 9 or above * 7 % 12 in _pitches_above_tonic(key):
        above = nearest_fifths(above * 7 % 12, 0.5)
    degree = degree_above_tonic(above, key)
    return degree[:-1], int(degree[-1])


def _pitches_above_tonic(key: Key) -> frozenset[int]:
    return frozenset((pitch_class - key.pitch_class) % 12 for pitch_class in key.pitch_classes)


def _bass(symbol: ChordSymbol, key: Key) -> str:
    if symbol.bass is None:
        return ""
    alteration, degree = _degree(symbol.bass, key)
    return f"/{alteration}{degree}"
