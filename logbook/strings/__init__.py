"""Strings: instruments, tunings, capos, frets, and what the hand can reach.

Everything here is plain data in and out. Strings stand low to high as strung; string 1 is the
last of them, as players count.
"""

from __future__ import annotations

from logbook.strings.capo import Capo, Capos, read_capos, string_stops, write_capos
from logbook.strings.frets import (
    FretLine,
    Position,
    count_frets,
    place_frets,
    read_fingers,
    read_frets,
)
from logbook.strings.sounding import course_midi, played_midi, shape_midi, sounding_midi
from logbook.strings.tunings import StringTuning, find_tuning, parse_tuning, read_tuning

__all__ = [
    "Capo",
    "Capos",
    "FretLine",
    "Position",
    "StringTuning",
    "count_frets",
    "course_midi",
    "find_tuning",
    "parse_tuning",
    "place_frets",
    "played_midi",
    "read_capos",
    "read_fingers",
    "read_frets",
    "read_tuning",
    "shape_midi",
    "sounding_midi",
    "string_stops",
    "write_capos",
]
