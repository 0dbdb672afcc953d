# ruff: noqa: E501
from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.theory.harmony import diatonic_chords, plain_number, roman_numeral
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.symbols import read_symbol


@pytest.mark.parametrize(
    ("chord", "key", "roman", "number"),
    [
        ("C", "C", "I", "1"), ("Dm7", "C", "ii7", "2m7"), ("G7", "C", "V7", "5(7)"),
        ("Bb", "C", "bVII", "b7"), ("F#m7b5", "C", "#ivø7", "#4m7b5"), ("G/B", "C", "V6", "5/7"),
        ("Caug", "C", "I+", "1aug"), ("Fm(maj7)", "C", "iv(maj7)", "4m(maj7)"),
        ("C", "Am", "III", "3"), ("E7", "Am", "V7", "5(7)"), ("G#dim7", "Am", "vii°7", "#7dim7"),
        ("C#m", "Db", "i", "1m"), ("Dbsus4", "Db", "Isus4", "1sus4"), ("N.C.", "C", "N.C.", "N.C."),
    ],
)  # fmt: skip
def test_degrees_as_numerals_and_numbers(chord: str, key: str, roman: str, number: str) -> None:
    assert roman_numeral(chord, key) == roman
    assert plain_number(chord, key) == number


def test_the_chords_of_a_key() -> None:
    assert [c.symbol for c in diatonic_chords("Db")] == [
        "Db",
        "Ebm",
        "Fm",
        "Gb",
        "Ab",
        "Bbm",
        "Cdim",
    ]
    assert [c.roman for c in diatonic_chords("Am")] == ["i", "ii°", "III", "iv", "v", "VI", "VII"]
    assert [c.symbol for c in diatonic_chords("G#m", raised_seventh=True)] == (
        ["G#m", "A#dim", "Baug", "C#m", "D#", "E", "F##dim"]
    )
    assert [c.number for c in diatonic_chords("C", sevenths=True)] == (
        ["1maj7", "2m7", "3m7", "4maj7", "5(7)", "6m7", "7m7b5"]
    )


@given(st.sampled_from(ALL_KEYS), st.booleans())
def test_diatonic_chords_hold_only_the_notes_of_the_key(key: Key, sevenths: bool) -> None:
    for degree, chord in enumerate(diatonic_chords(key, sevenths=sevenths), start=1):
        symbol = read_symbol(chord.symbol)
        assert set(symbol.notes) <= set(key.scale)
        assert symbol.root == key.scale[degree - 1]
        assert chord.number[0] == str(degree)


def test_a_chord_far_from_the_key_is_numbered_on_the_near_side() -> None:
    assert roman_numeral("G", "D# minor") == "#III"
    assert roman_numeral("Fb", "C") == "III"
    assert roman_numeral("B", "Eb minor") == "VI"
    assert roman_numeral("Cb", "Eb minor") == "VI"


@given(
    st.sampled_from(ALL_KEYS),
    st.integers(-11, 11),
    st.sampled_from(["Am7", "Bb", "F#dim", "E7/G#"]),
)
def test_numbers_do_not_change_when_song_and_key_move_together(
    key: Key, by: int, chord: str
) -> None:
    moved = key.transpose(by)
    there = read_symbol(chord).respell(key).transpose(by, moved)
    here = read_symbol(chord).respell(key)
    assert _enharmonic(plain_number(here, key)) == _enharmonic(plain_number(there, moved))


def _enharmonic(number: str) -> str:
    """Altered degrees may be written from either side; both ends of the line meet."""
    for sharp, flat in (("#1", "b2"), ("#2", "b3"), ("#4", "b5"), ("#5", "b6"), ("#6", "b7")):
        number = number.replace(flat, sharp)
    return number


@pytest.mark.parametrize(("chord", "key", "roman"), [
    # Applied chords.
    ("E7", "C", "V7/vi"), ("D7", "C", "V7/V"), ("A7", "C", "V7/ii"), ("B7", "C", "V7/iii"),
    ("C7", "C", "V7/IV"), ("D", "C", "V/V"), ("E", "C", "V/vi"), ("A", "C", "V/ii"), ("B", "C", "V/iii"),
    ("E7b9", "C", "V7b9/vi"), ("D9", "C", "V9/V"), ("E7/G#", "C", "V65/vi"), ("D/F#", "C", "V6/V"),
    ("C#dim7", "C", "vii°7/ii"), ("F#dim7", "C", "vii°7/V"), ("G#dim7", "C", "vii°7/vi"),
    ("D#dim7", "C", "vii°7/iii"), ("Edim7", "C", "vii°7/IV"), ("F#dim", "C", "vii°/V"),
    ("A7", "Am", "V7/iv"), ("B7", "Am", "V7/V"), ("C7", "Am", "V7/VI"), ("D#dim7", "Am", "vii°7/V"),
    ("F7", "Bb", "V7"), ("D7", "Eb", "V7/iii"), ("A#7", "B", "V7/iii"),
    # Not applied: of the key, leading home, or borrowed.
    ("G7", "C", "V7"), ("G7b9", "C", "V7b9"), ("Bdim7", "C", "vii°7"), ("E7", "Am", "V7"),
    ("D7", "Am", "IV7"), ("F7", "C", "IV7"), ("Bb7", "C", "bVII7"), ("Db7", "C", "bII7"),
    ("Ab7", "C", "bVI7"), ("Fm", "C", "iv"), ("Ab", "C", "bVI"), ("G", "Am", "VII"),
    # Inversions, with figures or with the bass named; never after a slash.
    ("C/E", "C", "I6"), ("C/G", "C", "I64"), ("G7/B", "C", "V65"), ("G7/D", "C", "V43"), ("G7/F", "C", "V42"),
    ("Dm7/C", "C", "ii42"), ("Dm/F", "C", "ii6"), ("Bm7b5/D", "C", "viiø65"), ("Bdim7/D", "C", "vii°65"),
    ("Fmaj7/A", "C", "IVmaj7 (A in the bass)"), ("G/C", "C", "V (C in the bass)"),
    ("F/G", "C", "IV (G in the bass)"), ("Cadd9/E", "C", "Iadd9 (E in the bass)"),
    # Sixth chords.
    ("C6", "C", "Iadd6"), ("Am6", "Am", "iadd6"), ("C69", "C", "Iadd6add9"), ("F6", "C", "IVadd6"),
    ("Fm6", "C", "ivadd6"),
    # Church modes.
    ("C", "D mixolydian", "bVII"), ("D7", "D mixolydian", "I7"), ("G", "D mixolydian", "IV"),
    ("Am", "D mixolydian", "v"), ("F", "E phrygian", "bII"), ("Em", "E phrygian", "i"),
    ("Dm", "E phrygian", "vii"), ("D", "A dorian", "IV"), ("D7", "A dorian", "IV7"), ("Am7", "A dorian", "i7"),
    ("Bm", "A dorian", "ii"), ("G", "A dorian", "VII"), ("D", "C lydian", "II"), ("F#dim", "C lydian", "#iv°"),
])  # fmt: skip
def test_numerals_that_cannot_be_misread(chord: str, key: str, roman: str) -> None:
    assert roman_numeral(chord, key) == roman


@given(
    st.sampled_from(ALL_KEYS),
    st.sampled_from(["C", "Dm7", "E7", "F#dim7", "Ab", "G7/B", "Fmaj7/A"]),
)
def test_a_slash_in_a_numeral_is_never_a_bass(key: Key, chord: str) -> None:
    numeral = roman_numeral(chord, key)
    if "/" in numeral:
        assert numeral.partition("/")[2].lstrip("b#") in [
            "I",
            "II",
            "III",
            "IV",
            "V",
            "VI",
            "VII",
            "i",
            "ii",
            "iii",
            "iv",
            "v",
            "vi",
            "vii",
        ]
