"""Strings: instruments, tunings, capos, frets, and what the hand can reach.

Everything here is plain data in and out. Strings stand low to high as strung; string 1 is the
last of them, as players count.

What takes longer to load (`describe`, the finder, the capo table, fingerings) is loaded when it is
first asked for, so that a program that only reads frets starts at once.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from logbook.strings.capo_table import CapoRow, RecordedChord, capo_table
    from logbook.strings.finder import Fingering, Limits, find_voicings
    from logbook.strings.fingering import propose_fingers
    from logbook.strings.voicing import SoundingVoicing, describe

_LATER = {
    "CapoRow": "capo_table",
    "Fingering": "finder",
    "Limits": "finder",
    "RecordedChord": "capo_table",
    "SoundingVoicing": "voicing",
    "capo_table": "capo_table",
    "describe": "voicing",
    "find_voicings": "finder",
    "propose_fingers": "fingering",
}


def __getattr__(name: str) -> object:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_LATER[name]}"), name)


class _Room(ModuleType):
    """This package: `capo_table` stays the function when the module so called is loaded."""

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _LATER and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Room


__all__ = [
    "Capo",
    "CapoRow",
    "Capos",
    "Fingering",
    "FretLine",
    "Limits",
    "Position",
    "RecordedChord",
    "SoundingVoicing",
    "StringTuning",
    "capo_table",
    "count_frets",
    "course_midi",
    "describe",
    "find_tuning",
    "find_voicings",
    "parse_tuning",
    "place_frets",
    "played_midi",
    "propose_fingers",
    "read_capos",
    "read_fingers",
    "read_frets",
    "read_tuning",
    "shape_midi",
    "sounding_midi",
    "string_stops",
    "write_capos",
]
