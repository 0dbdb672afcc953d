from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.arranging.singers import Range, keys_for, melody_said, read_range, singers_keys
from logbook.errors import LogbookError
from logbook.records import Person
from logbook.theory.keys import Key, parse_key
from tests.arranging.material import VERSION

ORLA = Person(name="Orla", low="G3", high="C5")


def test_keys_that_fit_with_their_room() -> None:
    # The melody spans A3-B4 (14 semitones) in D; the voice G3-C5 (17): steps from -2 to +1.
    found = keys_for(ORLA, VERSION)
    assert [(k.key.name, k.steps, k.room_below, k.room_above) for k in found.keys] == [
        ("D major", 0, 2, 1),
        ("Db major", -1, 1, 2),
        ("Eb major", 1, 3, 0),
        ("C major", -2, 0, 3),
    ]
    assert [(k.low, k.high) for k in found.keys][1] == ("Ab3", "Bb4")
    assert found.recorded.fits


def test_the_records_own_key_may_not_fit() -> None:
    # C3-F4 has room for the melody's 14 semitones from C3 to Eb3: nine semitones and more down.
    found = keys_for(replace(ORLA, low="C3", high="F4"), VERSION)
    assert not found.recorded.fits
    assert found.recorded.outside == "3 semitones too low"  # an octave lower
    assert found.keys[0].steps == -6


def test_the_records_key_may_be_sung_an_octave_lower() -> None:
    # An octave below A3-B4 lies A2-B3.
    found = keys_for(replace(ORLA, low="G2", high="C4"), VERSION)
    assert found.recorded.fits
    assert found.recorded.name == "D major, an octave lower"
    assert [(k.name, k.band_steps) for k in found.keys if k.key.pitch_class == 2] == [
        ("D major, an octave lower", 0)
    ]
    assert [k.name for k in found.keys if k.key.pitch_class == 1] == ["Db major, an octave lower"]


def test_no_key_fits_a_wider_melody_and_the_nearest_are_given() -> None:
    # G3-G4 is 12 wide, the melody 14: two semitones lie outside wherever it goes.
    found = keys_for(replace(ORLA, high="G4"), VERSION)
    assert found.keys == ()
    assert "spans 14 semitones, which is 2 more than the range of Orla" in found.nothing
    assert [(k.key.name, k.outside) for k in found.nearest] == [
        ("B major", "1 semitone too low, 1 too high"),
        ("C major", "2 semitones too high"),
        ("Bb major", "2 semitones too low"),
    ]


@pytest.mark.parametrize(
    ("person", "version", "says"),
    [
        (replace(ORLA, low=""), VERSION, "the range of Orla is not known"),
        (ORLA, replace(VERSION, melody_high=""), "the range of the melody of album is not known"),
        (replace(ORLA, low="D5"), VERSION, "ends at C5, below where it starts at D5"),
        (replace(ORLA, low="H3"), VERSION, "'H3' is not a note"),
        (ORLA, replace(VERSION, key=""), "the key of album is not known"),
    ],
)
def test_what_is_not_known(person: Person, version: object, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        keys_for(person, version)


def test_a_wide_voice_has_all_twelve_keys_each_the_nearest_way() -> None:
    found = singers_keys(Range(40, 90), Range(60, 72), parse_key("C"))
    assert len(found) == 12
    assert sorted(each.steps for each in found) == list(range(-6, 6))


@given(st.integers(40, 60), st.integers(0, 30), st.integers(45, 65), st.integers(0, 20))
def test_all_keys_that_fit_and_no_others(low: int, wide: int, melody: int, span: int) -> None:
    voice, tune = Range(low, low + wide), Range(melody, melody + span)
    found = singers_keys(voice, tune, Key(0, "major"))
    fitting = {
        steps % 12
        for steps in range(-60, 61)
        if low <= melody + steps and melody + span + steps <= low + wide
    }
    assert {each.steps % 12 for each in found} == fitting
    for each in found:
        assert each.fits
        assert each.room_below + each.room_above == wide - span
        assert each.key.pitch_class == each.steps % 12


def test_read_range() -> None:
    assert read_range("A3", "D5", "it") == Range(57, 74)
    assert read_range("A3", "A3", "it").width == 0


def test_where_the_melody_lies_in_another_key_and_whom_it_suits() -> None:
    assert melody_said(VERSION, (ORLA,), "Eb") == (
        "in Eb major the melody goes from Bb3 to C5; within the range of Orla (G3 to C5)"
    )
    assert "beyond the range of Orla" in melody_said(VERSION, (ORLA,), "F")
    assert melody_said(replace(VERSION, melody_low=""), (ORLA,), "F") == ""
