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
        ("Bb", "C", "bVII", "b7"), ("F#m7b5", "C", "#ivø7", "#4m7b5"), ("G/B", "C", "V/7", "5/7"),
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
