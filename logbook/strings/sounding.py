"""What sounds: the pitch of each string under a position of the hand.

A string sounds its open pitch + max(where it is stopped unfingered, fret from the nut): the nut,
the capo if one covers that string, or the fret where a short string starts. The shape is what
the same frets, counted from the capo, would sound with no capo on.
"""

from __future__ import annotations

from logbook.strings.frets import Position, Stopped, harmonic_partial, harmonic_semitones
from logbook.strings.tunings import OpenString, StringTuning, sounding_hz


def string_midi(string: OpenString, at: Stopped) -> int:
    """Return the MIDI note that one stopped string sounds (the lowest of its course)."""
    return string.midi + _raised(string, at)


def _raised(string: OpenString, at: Stopped) -> int:
    """Return how many semitones above its open pitch a string sounds."""
    if at.harmonic:
        return at.stop - string.start + (harmonic_semitones(at.fret - at.stop) or 0)
    return at.fret - string.start


def _shape_raised(at: Stopped) -> int:
    if at.harmonic:
        return harmonic_semitones(at.fret - at.stop) or 0
    return at.fret - at.stop


def sounding_midi(position: Position, tuning: StringTuning) -> tuple[int | None, ...]:
    """Return the MIDI note of each string, low to high; None where a string is not played."""
    return tuple(
        None if at is None else string_midi(string, at)
        for string, at in zip(tuning.strings, position, strict=True)
    )


def shape_midi(position: Position, tuning: StringTuning) -> tuple[int | None, ...]:
    """Return what each string would sound with no capo on; None where it is not played."""
    return tuple(
        None if at is None else string.midi + _shape_raised(at)
        for string, at in zip(tuning.strings, position, strict=True)
    )


def hand_shape_midi(
    position: Position, tuning: StringTuning, capo_fret: int
) -> tuple[int | None, ...]:
    """Return the shape as the hand feels it behind a partial capo at `capo_fret`.

    The hand sits at the capo, so a string that the capo leaves free, fretted above it, is counted
    from the capo too; everything else is as in `shape_midi`.
    """
    return tuple(
        midi - capo_fret
        if midi is not None and at is not None and at.stop < capo_fret < at.fret
        else midi
        for midi, at in zip(shape_midi(position, tuning), position, strict=True)
    )


def course_midi(position: Position, tuning: StringTuning) -> tuple[tuple[int, ...], ...]:
    """Return the MIDI notes of every string of each course, as strung; empty if not played."""
    return tuple(
        () if at is None else tuple(midi + _raised(string, at) for midi in string.course_midi)
        for string, at in zip(tuning.strings, position, strict=True)
    )


def played_midi(position: Position, tuning: StringTuning) -> tuple[int, ...]:
    """Return the MIDI notes played on purpose, in the order of the strings.

    Strings that only may ring are left out.
    """
    return tuple(
        string_midi(string, at)
        for string, at in zip(tuning.strings, position, strict=True)
        if at is not None and not at.may_ring
    )


def unfingered_midi(tuning: StringTuning, stops: tuple[int, ...]) -> tuple[int, ...]:
    """Return the MIDI note of each string left alone, given the fret at which each is stopped."""
    return tuple(
        string.midi + stop - string.start
        for string, stop in zip(tuning.strings, stops, strict=True)
    )


def string_frequency_hz(at: Stopped, string: OpenString, tuning: StringTuning) -> float:
    """Return the frequency in hertz that a stopped string sounds.

    Equal temperament at the tuning's reference and offset; a natural harmonic is the exact
    multiple of its stopped string.
    """
    if at.harmonic:
        partial = harmonic_partial(at.fret - at.stop) or 1
        return partial * sounding_hz(tuning, string.midi + at.stop - string.start)
    return sounding_hz(tuning, string_midi(string, at))
