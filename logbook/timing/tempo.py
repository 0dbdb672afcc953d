"""Tempo: beats a minute of a stated note value, and the figures that follow from it.

A beat unit is an exact fraction of a whole note: 1/4 is a quarter, 3/8 a dotted quarter. It is
written as such ("3/8=60") or by letter (w h q e s for whole, half, quarter, eighth and
sixteenth), with a dot for half as much again: "q.=60". A bare number counts the felt beat of the
meter at hand (see `logbook.timing.meter`), or quarters where no meter is known.

Formulas (common practice, no source): a beat lasts 60000 / tempo milliseconds; a speed ratio r
shifts pitch by 1200 log2 r cents.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.timing.meter import Meter

QUARTER = Fraction(1, 4)
_LETTERS = {
    "w": Fraction(1),
    "h": Fraction(1, 2),
    "q": Fraction(1, 4),
    "e": Fraction(1, 8),
    "s": Fraction(1, 16),
}
_NAMES = {
    Fraction(1): "whole",
    Fraction(1, 2): "half",
    Fraction(1, 4): "quarter",
    Fraction(1, 8): "eighth",
    Fraction(1, 16): "sixteenth",
    Fraction(1, 32): "thirty-second",
}
_SHAPES = (
    ("", Fraction(1)),
    ("dotted", Fraction(3, 2)),
    ("triplet", Fraction(2, 3)),
)
MOST_BPM = 2_000  # what is typed beyond that has a figure too many; nobody counts so fast
_FORMS = 'write a number above 0, alone or after its beat unit: "96", "q=96", "q.=60", "3/8=60"'


@dataclass(frozen=True, slots=True)
class Tempo:
    """`bpm` beats a minute, each beat `unit` of a whole note long (a quarter unless said).

    Raises LogbookError when either is not above 0.
    """

    bpm: Fraction
    unit: Fraction = QUARTER

    def __post_init__(self) -> None:
        object.__setattr__(self, "bpm", Fraction(self.bpm))
        object.__setattr__(self, "unit", Fraction(self.unit))
        if self.bpm <= 0:
            raise LogbookError(f"a tempo of {_number(self.bpm)} is too slow", _FORMS)
        if self.unit <= 0:
            raise LogbookError(f"a beat of {self.unit} of a whole note has no length", _FORMS)

    @property
    def wholes_a_second(self) -> Fraction:
        """Musical speed in whole notes a second."""
        return self.bpm * self.unit / 60

    @property
    def quarter_bpm(self) -> Fraction:
        """The same speed in quarters a minute."""
        return self.bpm * self.unit * 4

    @property
    def midi_microseconds_a_quarter(self) -> int:
        """The value of a MIDI set-tempo event, rounded: microseconds a quarter note."""
        return round(60_000_000 / self.quarter_bpm)

    def in_unit(self, unit: Fraction) -> Tempo:
        """The same speed counted in another beat unit (a fraction of a whole note)."""
        return Tempo(self.bpm * self.unit / unit, unit)

    def scaled(self, ratio: Fraction) -> Tempo:
        """This tempo times `ratio`, in the same unit."""
        return Tempo(self.bpm * ratio, self.unit)

    def __str__(self) -> str:
        return f"{unit_text(self.unit)}={_number(self.bpm)}"


def parse_tempo(text: str, meter: Meter | None = None) -> Tempo:
    """Read "96", "96 bpm", "q=96", "q.=60", "1/4=96" or "3/8=60".

    A bare number counts the felt beat of `meter`, or quarters without one.
    Raises LogbookError when the number or the unit cannot be read, or is not above 0, and where
    nobody can count so fast.
    """
    unit_part, equals, bpm_part = text.rpartition("=")
    felt = meter.felt_beat_length if meter else QUARTER
    unit = parse_unit(unit_part) if equals else felt
    try:
        bpm = Fraction(bpm_part.strip().lower().removesuffix("bpm").rstrip())
    except (ValueError, ZeroDivisionError):
        raise LogbookError(f'"{text}" is not a tempo', _FORMS) from None
    if bpm > MOST_BPM:
        raise LogbookError(f"a tempo of {_number(bpm)} is too fast", _FORMS)
    return Tempo(bpm, unit)


def parse_unit(text: str) -> Fraction:
    """Read a beat unit, "q", "q." or "3/8", as a fraction of a whole note.

    Raises LogbookError when it names no note value.
    """
    body = text.strip().lower()
    stem = body.rstrip(".")
    dots = len(body) - len(stem)
    numerator, _, denominator = stem.partition("/")
    if stem in _LETTERS:
        unit = _LETTERS[stem]
    elif _above_zero(numerator) and _above_zero(denominator):
        unit = Fraction(read_whole(numerator), read_whole(denominator))
    else:
        raise LogbookError(
            f'"{text.strip()}" is not a beat unit',
            'write w, h, q, e or s, dotted as in "q.", or a fraction such as 3/8',
        )
    # n dots add 1/2 + 1/4 + ... of the note: a factor of 2 - 1/2^n.
    return unit * (2 - Fraction(1, 2**dots))


def bpm_text(bpm: Fraction | float) -> str:
    """Return beats a minute as they are printed: two decimals at most, "96", "78.75"."""
    return f"{float(bpm):.2f}".rstrip("0").rstrip(".")


def unit_text(unit: Fraction) -> str:
    """The shortest form `parse_unit` reads back: "q", "q." or a fraction such as 5/8."""
    for letter, length in _LETTERS.items():
        if unit == length:
            return letter
        if unit == length * 3 / 2:
            return f"{letter}."
    return f"{unit.numerator}/{unit.denominator}"


def unit_name(unit: Fraction) -> str:
    """A beat unit in words: "quarter", "dotted quarter", or "5/8" where there is no word."""
    for length, name in _NAMES.items():
        for shape, factor in _SHAPES:
            if unit == length * factor:
                return f"{name} {shape}" if shape == "triplet" else f"{shape} {name}".strip()
    return str(unit)


@dataclass(frozen=True, slots=True)
class NoteValue:
    """One row of a delay-time table: a note value, its length in whole notes and in ms."""

    name: str
    wholes: Fraction
    milliseconds: Fraction


def note_milliseconds(tempo: Tempo, wholes: Fraction) -> Fraction:
    """How long a note of `wholes` whole notes lasts at `tempo`, in milliseconds, exactly."""
    return 1000 * wholes / tempo.wholes_a_second


def note_values(tempo: Tempo) -> tuple[NoteValue, ...]:
    """The table of delay times: whole to thirty-second, each straight, dotted and triplet."""
    return tuple(
        NoteValue(
            unit_name(length * factor), length * factor, note_milliseconds(tempo, length * factor)
        )
        for length in _NAMES
        for _, factor in _SHAPES
    )


def stretch_factor(recorded: Tempo, wanted: Tempo) -> Fraction:
    """How many times as long a recording becomes when brought from one tempo to another."""
    return recorded.wholes_a_second / wanted.wholes_a_second


def speed_cents(ratio: float | Fraction) -> float:
    """Pitch change in cents when sound is played `ratio` times as fast: 1200 log2 ratio.

    Raises LogbookError when the ratio is not above 0.
    """
    if ratio <= 0:
        raise LogbookError(f"a speed ratio of {ratio} plays nothing", "give a ratio above 0")
    return 1200 * math.log2(ratio)


def _number(value: Fraction) -> str:
    """A fraction as people type it: 96, 92.5, or 200/3 where no short decimal is exact."""
    if value.denominator == 1:
        return str(value.numerator)
    decimal = f"{float(value):.6f}".rstrip("0")
    return decimal if Fraction(decimal) == value else f"{value.numerator}/{value.denominator}"


def _above_zero(text: str) -> bool:
    return text.isdecimal() and read_whole(text) > 0
