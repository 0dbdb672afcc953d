"""Chords in a key: the diatonic chords, and any chord's degree as a Roman or a plain number.

Roman numerals are upper case with a major third and lower case with a minor one, with ° for a
diminished, ø for a half-diminished and + for an augmented chord. Plain numbers carry the chord's
own suffix (2m7, 5, b7), in brackets where it starts with a figure: 5(7). In a minor key the degrees
are those of the natural scale, so C in A minor is III. A bass other than the root follows a slash
as a scale degree: V7/7. (Common practice.)
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.chord_symbol import ChordSymbol, suffix_of
from logbook.theory.keys import Key, as_key, degree_above_tonic
from logbook.theory.notes import fifths_to_name, name_to_fifths, nearest_fifths
from logbook.theory.symbols import read_symbol

_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII")
_DEGREE_OF_FIFTHS = {4: "3", -3: "b3", 1: "5", -6: "b5", 8: "#5", 5: "7", -2: "b7", -9: "bb7"}


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
    """A chord's degree in a key as a Roman numeral: ("Dm7", "C") -> "ii7", ("Bb", "C") -> "bVII".

    A diminished chord on a minor key's raised seventh degree is plain vii°. N.C. stays N.C. Raises
    LogbookError for a chord or a key that cannot be read.
    """
    symbol, home = _read(chord), as_key(key)
    if symbol.is_no_chord:
        return symbol.symbol
    alteration, degree = _degree(symbol.root, home)
    numeral = _ROMAN[degree - 1]
    quality, suffix = "", symbol.suffix
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
    if home.is_minor and alteration + str(degree) == "#7" and quality == "°":
        alteration = ""
    return alteration + numeral + quality + suffix + _bass(symbol, home)


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
