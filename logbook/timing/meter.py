"""Meters: how many beats a bar has and which note value a beat is.

Conventions:

* Positions in a bar are counted in the written unit: a bar of 6/8 has beats 1 to 6, and beat 4
  is its second half.
* The felt beat, which an unmarked tempo refers to, is the written unit in a simple meter and
  three of them in a compound one: a dotted quarter in 6/8 (common practice, no source).
* A meter is compound when its upper number is 6, 9, 12 ... over an eighth or shorter; 6/4 is
  read as six quarters and 3/8 as three eighths.

* A meter may say how its beats are grouped: 3+2+2/8 is seven eighths in groups of three, two and
  two. Beats are counted anew in each group, and each group begins with an accent. Groups that are
  all alike are felt beats (2+2+2/8 is three quarters); with others the felt beat is the written
  unit.

Lengths are exact fractions of a whole note.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from logbook.errors import LogbookError
from logbook.numerals import read_whole

_UNITS = (1, 2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter such as 4/4: `beats` a bar, each a 1/`unit` note.

    `groups` are the beats of each group, where a meter says them. Raises LogbookError when a bar
    would have no beats, the unit is no note value, or the groups are not the bar.
    """

    beats: int
    unit: int
    groups: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if self.groups and (min(self.groups) < 1 or sum(self.groups) != self.beats):
            raise LogbookError(
                f"the groups {'+'.join(map(str, self.groups))} do not make {self.beats} beats",
                "write the beats of each group, as in 3+2+2/8",
            )
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
        return not self.groups and self.unit >= 8 and self.beats > 3 and self.beats % 3 == 0

    @property
    def _felt_units(self) -> int:
        """Written units in a felt beat."""
        if self.groups:
            return self.groups[0] if len(set(self.groups)) == 1 else 1
        return 3 if self.is_compound else 1

    @property
    def felt_beat_length(self) -> Fraction:
        """Length of a felt beat in whole notes: 3/8 in 6/8, 1/4 in 4/4."""
        return self.beat_length * self._felt_units

    @property
    def felt_beats(self) -> int:
        """Felt beats a bar: 2 in 6/8, 4 in 4/4, 7 in 3+2+2/8."""
        return self.beats // self._felt_units

    @property
    def accents(self) -> tuple[Fraction, ...]:
        """Where accents fall in a bar, in whole notes from its start: on one, and on each group
        where these are not alike."""
        if len(set(self.groups)) < 2:
            return (Fraction(0),)
        return tuple(start * self.beat_length for start in self.group_starts)

    @property
    def group_starts(self) -> tuple[int, ...]:
        """Written beats before each group: 0, 3 and 5 in 3+2+2/8; 0 alone without groups."""
        return tuple(sum(self.groups[:place]) for place in range(len(self.groups))) or (0,)

    def count_of(self, beat: int) -> int:
        """The number a written beat (from 1) is counted by: anew in each group."""
        return beat - max(start for start in self.group_starts if start < beat)

    def __str__(self) -> str:
        return f"{'+'.join(map(str, self.groups)) or self.beats}/{self.unit}"


COMMON_TIME = Meter(4, 4)


@lru_cache(maxsize=512)
def parse_meter(text: str) -> Meter:
    """Read a meter written as "4/4", "6/8" or, with its groups, "3+2+2/8".

    Raises LogbookError when `text` is not whole numbers with a stroke between, or is no meter.
    """
    beats, stroke, unit = text.partition("/")
    groups = [each.strip() for each in beats.split("+")]
    unit = unit.strip()
    if not stroke or not all(each.isdecimal() for each in (*groups, unit)):
        raise LogbookError(
            f'"{text}" is not a meter', 'write beats and unit, as in "4/4", "6/8" or "3+2+2/8"'
        )
    numbers = tuple(map(read_whole, groups))
    return Meter(sum(numbers), read_whole(unit), numbers if len(numbers) > 1 else ())
