"""A message of a MIDI file at its tick, and how many ticks there are."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, NamedTuple

TICKS_A_QUARTER = 960
OFF, META, ON = 0, 1, 2


class Event(NamedTuple):
    """A message at a tick; notes end before others begin."""

    tick: int
    rank: int
    message: Any


def to_ticks(wholes: Fraction) -> int:
    """Ticks of a length in whole notes, to the nearest, halves upward."""
    return int(wholes * 4 * TICKS_A_QUARTER + Fraction(1, 2))
