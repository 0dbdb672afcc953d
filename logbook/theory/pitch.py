"""Pitch: note numbers, frequencies and note names with octave.

Note numbers are those of MIDI 1.0 (MIDI Association): middle C = 60, written C4 here; A4 = 69.
Tuning is twelve-tone equal temperament around A4 = 440 Hz (ISO 16), or around the reference given.
"""

from __future__ import annotations

from math import log2

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.theory.keys import Key, as_key
from logbook.theory.notes import (
    PLAIN_NAMES,
    fifths_to_name,
    name_to_fifths,
    pitch_class,
    read_note,
)
from logbook.theory.spelling import note_beside

__all__ = ["hz_to_midi", "midi_to_hz", "midi_to_name", "name_to_midi", "pitch_class"]

A4_MIDI = 69
A4_HZ = 440.0
_LETTER_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def midi_to_hz(midi: float, a4_hz: float = A4_HZ, offset_cents: float = 0.0) -> float:
    """Frequency in hertz of a note number (fractions allowed), f = a4 * 2^((m - 69) / 12).

    `a4_hz` is the reference pitch, `offset_cents` is added to it. Raises LogbookError unless
    `a4_hz` is above zero. Source: MIDI 1.0 note numbers, ISO 16.
    """
    _check_reference(a4_hz)
    return float(a4_hz * 2.0 ** ((midi - A4_MIDI) / 12 + offset_cents / 1200))


def hz_to_midi(hz: float, a4_hz: float = A4_HZ, offset_cents: float = 0.0) -> float:
    """Note number (with fraction) of a frequency in hertz; inverse of `midi_to_hz`.

    Raises LogbookError unless both frequencies are above zero.
    """
    _check_reference(a4_hz)
    if not hz > 0:
        raise LogbookError(f"a frequency of {hz:g} Hz has no pitch", "give one above 0 Hz")
    return A4_MIDI + 12 * (log2(hz / a4_hz) - offset_cents / 1200)


def _check_reference(a4_hz: float) -> None:
    if not a4_hz > 0:
        raise LogbookError(f"A4 cannot be {a4_hz:g} Hz", "give a reference above 0, usually 440")


def name_to_midi(name: str) -> int:
    """Note number of a name with octave: "C4" -> 60, "Eb4" -> 63, "B#3" -> 60, "Cb4" -> 59.

    The octave number belongs to the letter, so it changes between B and C whatever the accidental.
    Raises LogbookError for anything else, and outside the MIDI range 0-127.
    """
    text = name.strip()
    read = read_note(text)
    octave = text[read.end :].replace("−", "-") if read else ""
    if read is None or not octave.lstrip("-").isdecimal() or octave.count("-") > 1:
        raise LogbookError(
            f"{name!r} is not a note with its octave",
            "write letter, b or # if needed, and octave, as in E2, Bb3 or F#4 (middle C is C4)",
        )
    letter = text[0].upper()
    alteration = (read.fifths - name_to_fifths(letter)) // 7
    midi = 12 * (read_whole(octave) + 1) + _LETTER_SEMITONES[letter] + alteration
    if not 0 <= midi <= 127:
        raise LogbookError(f"{name} is outside the MIDI range", "stay between C-1 and G9")
    return midi


def midi_to_name(midi: int, key: str | Key | None = None) -> str:
    """Name with octave of a note number, spelled by `key`: (61, "Db") -> "Db4".

    Without a key each pitch class has its plain name (C# Eb F# Ab Bb). Raises LogbookError for a
    key that does not exist.
    """
    name = PLAIN_NAMES[midi % 12] if key is None else as_key(key).spell(midi % 12)
    return name + str(octave_of(midi, name))


def spelled(midi: int, root: str, degrees: tuple[str, ...], key: str | Key | None = None) -> str:
    """Name with octave of a note number beside a chord: its own letter, else the key's name.

    (56, "E", R 3 5 b7, C major) -> "G#3". Raises LogbookError for a key that does not exist.
    """
    name = note_beside(midi, root, degrees, None if key is None else as_key(key))
    return name + str(octave_of(midi, name))


def octave_of(midi: int, name: str) -> int:
    """Octave number of a note number when it is written with this letter and accidental.

    Middle C is C4 but B#3; raises LogbookError if `name` is not a name of that pitch class.
    """
    fifths = name_to_fifths(name)
    if (fifths * 7 - midi) % 12:
        raise LogbookError(f"note {midi} cannot be written {name}")
    letter = fifths_to_name((fifths + 1) % 7 - 1)
    return (midi - (fifths - name_to_fifths(letter)) // 7) // 12 - 1
