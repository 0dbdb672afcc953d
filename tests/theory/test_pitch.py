from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory import hz_to_midi, midi_to_hz, midi_to_name, name_to_midi, pitch_class
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.pitch import octave_of


def test_the_octave_belongs_to_the_letter() -> None:
    assert name_to_midi("C4") == name_to_midi("B#3") == 60
    assert name_to_midi("B3") == name_to_midi("Cb4") == 59
    assert name_to_midi("E♭4") == name_to_midi("Eb4") == 63
    assert name_to_midi("C-1") == 0
    assert name_to_midi("F##4") == 67


@given(st.integers(0, 127), st.sampled_from(ALL_KEYS))
def test_a_name_in_any_key_leads_back_to_its_number(midi: int, key: Key) -> None:
    name = midi_to_name(midi, key)
    if not name.startswith("Cb-1"):
        assert name_to_midi(name) == midi
    assert pitch_class(name.rstrip("-0123456789")) == midi % 12


def test_a_key_spells() -> None:
    assert midi_to_name(61, "Db") == "Db4"
    assert midi_to_name(61, "A") == "C#4"
    assert midi_to_name(59, "Cb") == "Cb4"
    assert midi_to_name(61) == "C#4"


@given(st.floats(0, 127), st.floats(400, 480), st.floats(-100, 100))
def test_frequency_and_number_are_inverse(midi: float, a4_hz: float, offset: float) -> None:
    assert hz_to_midi(midi_to_hz(midi, a4_hz, offset), a4_hz, offset) == pytest.approx(midi)


def test_an_offset_is_a_hundredth_of_a_semitone() -> None:
    assert midi_to_hz(60, offset_cents=100) == pytest.approx(midi_to_hz(61))


@pytest.mark.parametrize("text", ["C", "H2", "4", "", "C4b", "Eb-", "E 2", "C99"])
def test_a_note_without_its_octave_is_refused(text: str) -> None:
    with pytest.raises(LogbookError):
        name_to_midi(text)


def test_no_frequency_at_or_below_zero() -> None:
    with pytest.raises(LogbookError, match="A4 cannot be 0"):
        midi_to_hz(69, 0)
    with pytest.raises(LogbookError, match="has no pitch"):
        hz_to_midi(-1)


def test_a_note_cannot_be_written_under_another_name() -> None:
    assert octave_of(60, "B#") == 3
    with pytest.raises(LogbookError, match="cannot be written"):
        octave_of(60, "D")
