from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory.notes import (
    fifths_to_name,
    fifths_to_pitch_class,
    name_to_fifths,
    nearest_fifths,
    pitch_class,
    plain_root,
    read_note,
    with_signs,
)


@pytest.mark.parametrize(
    ("name", "fifths"),
    [("C", 0), ("F", -1), ("B", 5), ("F#", 6), ("Bb", -2), ("Db", -5), ("F##", 13), ("Bbb", -9)],
)
def test_a_name_has_one_place_on_the_line_of_fifths(name: str, fifths: int) -> None:
    assert name_to_fifths(name) == fifths
    assert fifths_to_name(fifths) == name


@given(st.integers(-15, 19))
def test_names_and_places_are_inverse_up_to_double_accidentals(fifths: int) -> None:
    name = fifths_to_name(fifths)
    assert name_to_fifths(name) == fifths
    assert pitch_class(name) == fifths_to_pitch_class(fifths)


@pytest.mark.parametrize(
    ("written", "plain"), [("E♭", "Eb"), ("F♯", "F#"), ("Fx", "F##"), ("B𝄫", "Bbb"), ("db", "Db")]
)
def test_signs_and_lower_case_are_read(written: str, plain: str) -> None:
    assert name_to_fifths(written) == name_to_fifths(plain)


@pytest.mark.parametrize("text", ["", "H", "Cb#", "Cm", "1", "C###"])
def test_anything_else_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(LogbookError, match="is not a note name"):
        name_to_fifths(text)


def test_a_note_is_read_from_the_front_of_a_text() -> None:
    read = read_note("Bbm7")
    assert read is not None
    assert read.end == 2
    assert read_note("m7") is None


@given(st.integers(0, 11), st.floats(-10, 12))
def test_the_nearest_spelling_is_at_most_a_tritone_away(pc: int, centre: float) -> None:
    place = nearest_fifths(pc, centre)
    assert fifths_to_pitch_class(place) == pc
    assert abs(place - centre) <= 6


def test_plain_roots_take_the_side_with_fewer_accidentals() -> None:
    assert plain_root(1, minor=False) == "Db"
    assert plain_root(1, minor=True) == "C#"
    assert plain_root(8, minor=False) == "Ab"
    assert plain_root(8, minor=True) == "G#"


def test_signs_are_printed_for_sheets() -> None:
    assert with_signs("Bbm7b5/Eb") == "B♭m7♭5/E♭"
    assert with_signs("F#m7(b5)") == "F♯m7(♭5)"
    assert with_signs("Cbb7") == "C♭♭7"
    assert with_signs("Gsus4") == "Gsus4"
