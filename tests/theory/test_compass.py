"""Notes of instruments without frets: read, moved by an interval, kinds known by other words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory.compass import KNOWN, compass_of, looks_like_notes, moved_note, read_notes
from logbook.theory.pitch import midi_to_name, name_to_midi


def test_notes_are_read_in_any_usual_spelling() -> None:
    assert read_notes("c3, g3 B♭3 e♭4") == (("C3", 48), ("G3", 55), ("Bb3", 58), ("Eb4", 63))
    with pytest.raises(LogbookError):
        read_notes("C3 H3")
    assert not looks_like_notes("x 3 2 0 1 0")


@given(st.integers(30, 90), st.integers(-24, 24))
def test_a_moved_note_sounds_as_far_away_as_it_should(midi: int, steps: int) -> None:
    name = midi_to_name(midi)
    assert name_to_midi(moved_note(name, steps)) == midi + steps


@pytest.mark.parametrize(
    ("name", "steps", "moved"),
    [("Bb3", 2, "C4"), ("F#4", 2, "G#4"), ("Eb4", 9, "C5"), ("B3", 14, "C#5"), ("Db4", -9, "E3")],
)
def test_the_letter_moves_along(name: str, steps: int, moved: str) -> None:
    assert moved_note(name, steps) == moved


def test_every_kind_reaches_upward_and_is_found_by_its_other_names() -> None:
    assert all(low < high for low, high in (each.midi for each in KNOWN.values()))
    assert compass_of("Bb Clarinet") == KNOWN["clarinet"]
    assert compass_of("fiddle") == KNOWN["violin"]
    assert compass_of("guitar") is None
