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
