# ruff: noqa: E501
from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory.keys import ALL_KEYS, Key, parse_key, scale_degree
from logbook.theory.notes import name_to_fifths, pitch_class

KEYS = st.sampled_from(ALL_KEYS)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Db", "Db major"), ("Db major", "Db major"), ("D♭ maj", "Db major"), ("DbM", "Db major"),
        ("Bbm", "Bb minor"), ("F# minor", "F# minor"), ("c minor", "C minor"), ("bb", "Bb major"),
        ("g MINOR", "G minor"),
        (" Eb  min ", "Eb minor"), ("A-", "A minor"), ("C Major", "C major"),
    ],
)  # fmt: skip
def test_keys_are_read_as_musicians_write_them(text: str, name: str) -> None:
    assert Key.parse(text).name == name


@pytest.mark.parametrize(
    ("text", "instead"),
    [
        ("G# major", "Ab major"), ("D#", "Eb major"), ("Fb", "E major"), ("A#", "Bb major"),
        ("Db minor", "C# minor"), ("Gbm", "F# minor"), ("E#m", "F minor"), ("B#", "C major"),
        ("Fb dorian", "E dorian"), ("C blues", "C major or C minor"), ("H minor", "B minor"),
        ("H", "write B"),
    ],
)  # fmt: skip
def test_a_key_that_does_not_exist_is_answered_with_the_nearest(text: str, instead: str) -> None:
    with pytest.raises(LogbookError) as caught:
        parse_key(text)
    assert instead in caught.value.remedy


def test_nonsense_is_answered_with_the_form() -> None:
    with pytest.raises(LogbookError, match="is not a key"):
        parse_key("loud")


def test_there_are_thirty_keys() -> None:
    assert len(set(ALL_KEYS)) == 30
    assert sorted({key.fifths for key in ALL_KEYS}) == list(range(-7, 8))


def test_five_flats_are_spelled_with_flats() -> None:
    key = parse_key("Db")
    assert key.signature == ("Bb", "Eb", "Ab", "Db", "Gb")
    assert key.scale == ("Db", "Eb", "F", "Gb", "Ab", "Bb", "C")
    assert key.spell(1) == "Db"
    assert parse_key("G#m").spell(7) == "F##"
    assert parse_key("A#m").spell(9) == "G##"


@given(KEYS, st.integers(0, 11))
def test_a_spelling_is_the_same_pitch_and_has_at_most_two_accidentals(key: Key, pc: int) -> None:
    name = key.spell(pc)
    assert pitch_class(name) == pc
    assert len(name) <= 3
    assert "bb" not in name


@given(KEYS)
def test_scale_notes_use_each_letter_once_and_are_spelled_as_in_the_scale(key: Key) -> None:
    assert sorted(note[0] for note in key.scale) == list("ABCDEFG")
    assert tuple(key.spell(pitch_class(note)) for note in key.scale) == key.scale
    assert {pitch_class(note) for note in key.scale} == key.pitch_classes


@given(KEYS)
def test_relatives_share_a_signature(key: Key) -> None:
    assert key.relative.signature == key.signature
    assert key.relative.relative == key


@given(KEYS, st.integers(-24, 24))
def test_transposing_keeps_mode_and_lands_on_a_real_key(key: Key, semitones: int) -> None:
    moved = key.transpose(semitones)
    assert moved in ALL_KEYS
    assert moved.mode == key.mode
    assert moved.pitch_class == (key.pitch_class + semitones) % 12
    assert abs(moved.fifths) <= 6 or moved == key


def test_transposing_keeps_to_the_side_it_comes_from() -> None:
    assert parse_key("D").transpose(4).name == "F# major"
    assert parse_key("Bb").transpose(-4).name == "Gb major"
    assert parse_key("C").transpose(1).name == "Db major"
    assert parse_key("C#").transpose(0).name == "C# major"


@given(KEYS, st.integers(0, 11))
def test_a_degree_names_the_letter_and_its_alteration(key: Key, pc: int) -> None:
    note = key.spell(pc)
    degree = scale_degree(note, key)
    natural = name_to_fifths(key.scale[int(degree[-1]) - 1])
    assert natural + 7 * (degree.count("#") - degree.count("b")) == name_to_fifths(note)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("B flat", "Bb major"), ("B flat minor", "Bb minor"), ("F sharp minor", "F# minor"),
        ("e-flat major", "Eb major"), ("Aflat", "Ab major"), ("C Sharp", "C# major"),
    ],
)  # fmt: skip
def test_flat_and_sharp_may_be_spoken(text: str, name: str) -> None:
    assert parse_key(text).name == name


def test_a_spoken_key_that_does_not_exist_names_the_one_that_does() -> None:
    with pytest.raises(LogbookError, match="write Ab major"):
        parse_key("G sharp major")


# Church modes: scales and signatures are common practice, no source; from C major's white keys.


@pytest.mark.parametrize(("text", "scale", "fifths"), [
    ("D dorian", "D E F G A B C", 0), ("E phrygian", "E F G A B C D", 0), ("F lydian", "F G A B C D E", 0),
    ("G mixolydian", "G A B C D E F", 0), ("B locrian", "B C D E F G A", 0),
    ("A dorian", "A B C D E F# G", 1), ("D mixolydian", "D E F# G A B C", 1),
    ("Bb lydian", "Bb C D E F G A", -1), ("F# phrygian", "F# G A B C# D E", 2),
    ("Eb mixolydian", "Eb F G Ab Bb C Db", -4), ("C dorian", "C D Eb F G A Bb", -2),
])  # fmt: skip
def test_church_modes_are_keys_of_their_own(text: str, scale: str, fifths: int) -> None:
    key = parse_key(text)
    assert key.scale == tuple(scale.split())
    assert (key.fifths, key.name, key.short) == (fifths, text, text)
    assert parse_key(key.short) == key
    assert [key.spell(pitch_class(note)) for note in key.scale] == list(key.scale)
    assert key.pitch_classes == key.relative.pitch_classes == key.signature_key.pitch_classes


@pytest.mark.parametrize(("text", "name"), [
    ("d Dorian", "D dorian"), ("E mixo", "E mixolydian"), ("A dor", "A dorian"), ("C# phr", "C# phrygian"),
    ("F lyd", "F lydian"), ("B flat mixolydian", "Bb mixolydian"), ("C ionian", "C major"),
    ("A aeolian", "A minor"), ("D-dorian", "D dorian"),
])  # fmt: skip
def test_modes_are_read_as_musicians_write_them(text: str, name: str) -> None:
    assert parse_key(text).name == name


def test_a_mode_moves_and_keeps_its_kind() -> None:
    assert parse_key("D mixolydian").transpose(2).name == "E mixolydian"
    assert parse_key("A dorian").transpose(-2).name == "G dorian"
    assert parse_key("E phrygian").transpose(1).name == "F phrygian"
    assert parse_key("D dorian").signature_key.short == "Am"
    assert parse_key("G mixolydian").signature_key.short == "C"
    assert parse_key("D dorian").is_minor
    assert not parse_key("D lydian").is_minor


def test_degrees_of_a_mode_are_counted_as_in_the_key_on_its_tonic() -> None:
    assert scale_degree("C", "D mixolydian") == "b7"
    assert scale_degree("F", "E phrygian") == "b2"
    assert scale_degree("F#", "C lydian") == "#4"
