"""Applied chords and the chords of all thirty keys, spelled as music21 spells them.

Source: music21 (BSD-3-Clause), music21.roman.RomanNumeral. We differ in two places, since charts
are read at sight; common practice, no source. A root that would itself take a double sharp and is
not the leading note of its minor key (F##dim7 in E major) is written as its plain neighbour
(Gdim7). So is a chord on Fb, Cb, E# or B# that would need double accidentals (B#7 in C# major is
C7). The tones of such a chord follow from the root as everywhere.
"""

from __future__ import annotations

import pytest

from logbook.theory import name_chord, read_symbol
from logbook.theory.harmony import diatonic_chords
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.notes import name_to_fifths, pitch_class

music21 = pytest.importorskip("music21")

SUFFIX = {"V": "", "V7": "7", "viio": "dim", "viio7": "dim7"}
TARGETS = {"major": ("ii", "iii", "IV", "V", "vi"), "minor": ("III", "iv", "V", "VI", "VII")}


def theirs(figure: str, key: Key) -> list[str]:
    other = music21.key.Key(key.tonic.replace("b", "-"), key.mode)
    pitches = music21.roman.RomanNumeral(figure, other).pitches
    return [pitch.name.replace("-", "b") for pitch in pitches]


def close(names: list[str]) -> list[int]:
    """The notes in close position over the first, near middle C."""
    root = 60 + pitch_class(names[0])
    return [root + (pitch_class(name) - pitch_class(names[0])) % 12 for name in names]


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
@pytest.mark.parametrize("applied", SUFFIX)
def test_applied_chords(key: Key, applied: str) -> None:
    for target in TARGETS[key.mode]:
        wanted = theirs(f"{applied}/{target}", key)
        root = name_to_fifths(wanted[0])
        odd = wanted[0] in ("Fb", "Cb", "E#", "B#") and any(len(note) > 2 for note in wanted)
        if (root > 12 and root != key.raised_seventh) or odd:
            plain = root - 12 if root > 0 else root + 12
            names = name_chord(close(wanted), key=key)
            assert name_to_fifths(names[0].root_name) == plain
            assert all(len(note) < 3 for note in names[0].notes)
            continue
        found = next(
            name
            for name in name_chord(close(wanted), key=key)
            if name.suffix == SUFFIX[applied] and name.root == name.bass
        )
        assert list(found.notes) == wanted, target
        assert [found.note_of(note) for note in close(wanted)] == wanted
        assert list(read_symbol(wanted[0] + SUFFIX[applied]).respell(key).notes) == wanted


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
@pytest.mark.parametrize("sevenths", [False, True])
def test_the_chords_of_the_key(key: Key, sevenths: bool) -> None:
    for raised in (False, True):
        for chord in diatonic_chords(key, sevenths=sevenths, raised_seventh=raised):
            symbol = read_symbol(chord.symbol)
            assert symbol.respell(key) == symbol
            assert set(symbol.notes) <= {*key.scale, *_raised(key)}


def _raised(key: Key) -> set[str]:
    other = music21.key.Key(key.tonic.replace("b", "-"), key.mode)
    if not key.is_minor:
        return set()
    leading = music21.roman.RomanNumeral("V", other).pitches[1].name
    return {leading.replace("-", "b")}


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
@pytest.mark.parametrize("figure", ["Ger65", "It6", "Fr43", "N"])
def test_augmented_sixths_and_the_neapolitan_keep_their_roots(key: Key, figure: str) -> None:
    """Where a key has them without double flats; else the plain neighbour."""
    root, suffix = (theirs("N", key)[0], "") if figure == "N" else (theirs(figure, key)[0], "7")
    if name_to_fifths(root) < -8:
        return
    found = read_symbol(root + suffix).respell(key)
    doubles = any(len(note) > 2 for note in read_symbol(root + suffix).notes)
    assert found.root == root or (doubles and not any(len(note) > 2 for note in found.notes))
