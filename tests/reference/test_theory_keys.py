"""Key signatures, scales and diatonic chords of all thirty keys against music21.

Source: music21 (BSD-3-Clause), music21.key.Key and music21.roman.RomanNumeral.
"""

from __future__ import annotations

import pytest

from logbook.theory import read_symbol
from logbook.theory.harmony import diatonic_chords
from logbook.theory.keys import ALL_KEYS, Key

music21 = pytest.importorskip("music21")


def theirs(name: str) -> str:
    return name.replace("b", "-")


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_signatures_and_scales(key: Key) -> None:
    other = music21.key.Key(theirs(key.tonic), key.mode)
    assert key.fifths == other.sharps
    assert [theirs(note) for note in key.signature] == [p.name for p in other.alteredPitches]
    assert [theirs(note) for note in key.scale] == [p.name for p in other.pitches[:7]]
    assert theirs(key.relative.tonic) == other.relative.tonic.name


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
@pytest.mark.parametrize("sevenths", [False, True])
def test_diatonic_chords(key: Key, sevenths: bool) -> None:
    other = music21.key.Key(theirs(key.tonic), key.mode)
    plain = ["I", "II", "III", "IV", "V", "VI", "VII"]
    for degree, chord in enumerate(diatonic_chords(key, sevenths=sevenths)):
        pitches = [
            other.pitches[(degree + step) % 7].name for step in range(0, 8 if sevenths else 6, 2)
        ]
        assert [theirs(note) for note in read_symbol(chord.symbol).notes] == pitches
        numeral = music21.roman.romanNumeralFromChord(music21.chord.Chord(_stacked(pitches)), other)
        bare = chord.roman.rstrip("maj7°ø+#5()")
        assert numeral.romanNumeralAlone.upper() == plain[degree] == bare.upper()
        assert numeral.romanNumeralAlone == bare


def _stacked(names: list[str]) -> list[object]:
    """Pitches in close root position, each above the one before."""
    pitches = [music21.pitch.Pitch(names[0] + "3")]
    for name in names[1:]:
        pitch = music21.pitch.Pitch(name + "3")
        while pitch.diatonicNoteNum <= pitches[-1].diatonicNoteNum:
            pitch.octave += 1
        pitches.append(pitch)
    return pitches


@pytest.mark.parametrize("key", [key for key in ALL_KEYS if key.is_minor], ids=str)
def test_the_raised_seventh_of_minor_keys(key: Key) -> None:
    other = music21.key.Key(theirs(key.tonic), "minor")
    chords = diatonic_chords(key, sevenths=True, raised_seventh=True)
    for degree, figure in ((4, "V7"), (6, "viio7")):
        numeral = music21.roman.RomanNumeral(figure, other)
        ours = read_symbol(chords[degree].symbol).notes
        assert [theirs(note) for note in ours] == [pitch.name for pitch in numeral.pitches]
