"""What a tempo map is made of: changes as they are stated, and the runs and stretches they give."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import NamedTuple

from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter
from logbook.timing.tempo import Tempo


class MeterAt(NamedTuple):
    """From `bar` on, bars are in `meter`."""

    bar: int
    meter: Meter


class Ramp(NamedTuple):
    """The tempo glides to `tempo`, which it has reached at `end`."""

    end: BarPoint
    tempo: Tempo


class TempoAt(NamedTuple):
    """From `start` on the tempo is `tempo`, or glides away from it along `ramp`.

    `free` says that there is none up to the next change, and how many seconds that lasted (0: not
    known); `tempo` then only counts where no other follows.
    """

    start: BarPoint
    tempo: Tempo
    ramp: Ramp | None = None
    free: Fraction | None = None


class _BarRun(NamedTuple):
    """Bars in one meter, from a bar on; how long each bar and beat is, worked out once."""

    bar: int
    start: Fraction
    meter: Meter
    bar_length: Fraction
    beat_length: Fraction


class _Stretch(NamedTuple):
    """Music at one speed, or along one ramp (`slope` not 0), in whole notes and seconds."""

    start: Fraction
    seconds: Fraction
    speed: Fraction
    slope: Fraction
    unit: Fraction

    def seconds_to(self, wholes: Fraction) -> Fraction:
        """Seconds from the stretch's start to `wholes` whole notes later."""
        if not self.slope:
            return wholes / self.speed
        return Fraction(math.log1p(self.slope * wholes / self.speed) / float(self.slope))

    def wholes_in(self, seconds: Fraction) -> Fraction:
        """Whole notes passed `seconds` after the stretch's start."""
        if not self.slope:
            return seconds * self.speed
        return Fraction(math.expm1(self.slope * seconds) * float(self.speed / self.slope))


def _next_stretch(
    before: _Stretch, start: Fraction, speed: Fraction, slope: Fraction, unit: Fraction
) -> _Stretch:
    seconds = before.seconds + before.seconds_to(start - before.start)
    return _Stretch(start, seconds, speed, slope, unit)
