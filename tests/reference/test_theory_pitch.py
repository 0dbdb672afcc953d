"""Note numbers and frequencies against published values."""

from __future__ import annotations

import pytest

from logbook.theory import hz_to_midi, midi_to_hz, name_to_midi


def test_middle_c_is_note_60() -> None:
    # MIDI 1.0 Detailed Specification (MIDI Association): middle C is note number 60, 0-127 in all.
    assert name_to_midi("C4") == 60
    assert (name_to_midi("C-1"), name_to_midi("G9")) == (0, 127)


def test_a4_is_440_hz() -> None:
    # ISO 16:1975, standard tuning frequency: the A in the treble stave is 440 Hz.
    assert midi_to_hz(name_to_midi("A4")) == 440.0
    assert hz_to_midi(440.0) == 69.0


@pytest.mark.parametrize(
    ("note", "hz"),
    [
        # Twelve-tone equal temperament around A4 = 440 Hz, rounded to 0.01 Hz; MIDI Tuning
        # Standard (MIDI 1.0 addendum) gives note 60 as 261.6256 Hz and note 0 as 8.1758 Hz.
        ("C-1", 8.1758), ("C4", 261.6256), ("A0", 27.5), ("C8", 4186.009),
        # Open strings of a guitar in standard tuning, from memory.
        ("E2", 82.407), ("A2", 110.0), ("D3", 146.832), ("G3", 195.998), ("B3", 246.942),
        ("E4", 329.628),
    ],
)  # fmt: skip
def test_equal_temperament(note: str, hz: float) -> None:
    assert midi_to_hz(name_to_midi(note)) == pytest.approx(hz, abs=0.0006)


def test_every_frequency_agrees_with_a_general_library() -> None:
    # Source: librosa.midi_to_hz / note_to_midi, librosa (ISC), if it is installed.
    librosa = pytest.importorskip("librosa")
    for midi in range(128):
        assert midi_to_hz(midi) == pytest.approx(float(librosa.midi_to_hz(midi)), rel=1e-12)
    for name in ("C4", "Eb4", "F#2", "B#3", "Cb4", "Bbb3", "F##5"):
        assert name_to_midi(name) == librosa.note_to_midi(name)
