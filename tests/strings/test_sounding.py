from __future__ import annotations

import pytest

from logbook.strings.capo import read_capos
from logbook.strings.frets import place_frets, read_frets
from logbook.strings.sounding import (
    course_midi,
    hand_shape_midi,
    played_midi,
    shape_midi,
    sounding_midi,
    string_frequency_hz,
)
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")


def test_the_capo_raises_what_is_open_and_not_what_is_fretted() -> None:
    position = place_frets(read_frets("x 0 4 4 3 0"), STANDARD, read_capos("2"))
    assert sounding_midi(position, STANDARD) == (None, 47, 54, 59, 62, 66)
    assert shape_midi(position, STANDARD) == (None, 45, 52, 57, 60, 64)


def test_a_partial_capo_raises_only_what_it_covers() -> None:
    position = place_frets(read_frets("0 0 0 4 0 0"), STANDARD, read_capos("2 @ 3-5"))
    assert sounding_midi(position, STANDARD) == (40, 47, 52, 59, 59, 64)
    assert shape_midi(position, STANDARD) == (40, 45, 50, 57, 59, 64)


def test_the_hand_behind_a_partial_capo_feels_a_free_string_from_the_capo() -> None:
    position = place_frets(read_frets("5 4 0 0 0 5"), STANDARD, read_capos("2 @ 1-5"))
    assert shape_midi(position, STANDARD) == (45, 47, 50, 55, 59, 67)
    assert hand_shape_midi(position, STANDARD, 2) == (43, 47, 50, 55, 59, 67)


def test_courses_sound_all_their_strings() -> None:
    twelve = find_tuning("twelve-string")
    position = place_frets(read_frets("320003"), twelve)
    assert course_midi(position, twelve)[0] == (55, 43)
    assert sounding_midi(position, twelve)[0] == 43


def test_strings_that_may_ring_are_not_played() -> None:
    position = place_frets(read_frets("x(0)2210"), STANDARD)
    assert played_midi(position, STANDARD) == (52, 57, 60, 64)


def test_the_short_string() -> None:
    banjo = find_tuning("banjo")
    position = place_frets(read_frets("7 0 0 1 2"), banjo)
    assert sounding_midi(position, banjo) == (69, 50, 55, 60, 64)


def test_a_harmonic_is_a_multiple_of_its_stopped_string() -> None:
    position = place_frets(read_frets("<12><7><5><4>xx"), STANDARD)
    assert sounding_midi(position, STANDARD) == (52, 64, 74, 83, None, None)
    at = position[1]
    assert at is not None
    assert string_frequency_hz(at, STANDARD.strings[1], STANDARD) == pytest.approx(330.0)
