"""Meters: how many beats a bar has and which note value a beat is.

Conventions:

* Positions in a bar are counted in the written unit: a bar of 6/8 has beats 1 to 6, and beat 4
  is its second half.
* The felt beat, which an unmarked tempo refers to, is the written unit in a simple meter and
  three of them in a compound one: a dotted quarter in 6/8 (common practice, no source).
* A meter is compound when its upper number is 6, 9, 12 ... over an eighth or shorter; 6/4 is
  read as six quarters and 3/8 as three eighths.

Lengths are exact fractions of a whole note.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.numerals import read_whole

_UNITS = (1, 2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter such as 4/4: `beats` a bar, each a 1/`unit` note.

    Raises LogbookError when a bar would have no beats, or the unit is no note value.
    """

    beats: int
    unit: int

    def __post_init__(self) -> None:
        if not 1 <= self.beats <= 64:
            raise LogbookError(
                f"a meter of {self.beats}/{self.unit} has {self.beats} beats a bar",
                "give 1 to 64 beats, as in 4/4",
            )
        if self.unit not in _UNITS:
            raise LogbookError(
                f"a meter of {self.beats}/{self.unit} counts in 1/{self.unit} notes",
                "the lower number is 1, 2, 4, 8, 16, 32 or 64, as in 6/8",
            )

    @property
    def bar_length(self) -> Fraction:
        """Length of a full bar in whole notes: 3/4 for a bar of 6/8."""
        return Fraction(self.beats, self.unit)

    @property
    def beat_length(self) -> Fraction:
        """Length of a counted beat in whole notes: 1/8 in 6/8."""
        return Fraction(1, self.unit)

    @property
    def is_compound(self) -> bool:
        """Whether the felt beat is three written units, as in 6/8, 9/8 and 12/8."""
        return self.unit >= 8 and self.beats > 3 and self.beats % 3 == 0

    @property
    def felt_beat_length(self) -> Fraction:
        """Length of a felt beat in whole notes: 3/8 in 6/8, 1/4 in 4/4."""
        return self.beat_length * 3 if self.is_compound else self.beat_length

    @property
    def felt_beats(self) -> int:
        """Felt beats a bar: 2 in 6/8, 4 in 4/4."""
        return self.beats // 3 if self.is_compound else self.beats

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"


COMMON_TIME = Meter(4, 4)


def parse_meter(text: str) -> Meter:
    """Read a meter written as "4/4" or "6/8".

    Raises LogbookError when `text` is not two whole numbers with a stroke between, or is no meter.
    """
    beats, stroke, unit = text.partition("/")
    beats, unit = beats.strip(), unit.strip()
    if not stroke or not (beats.isdecimal() and unit.isdecimal()):
        raise LogbookError(f'"{text}" is not a meter', 'write beats and unit, as in "4/4" or "6/8"')
    return Meter(read_whole(beats), read_whole(unit))
