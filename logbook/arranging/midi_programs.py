"""Which General MIDI program stands for which instrument.

Source: General MIDI (MIDI Association); program numbers, counted from 0, from memory.
"""

from __future__ import annotations

from logbook.arranging.parts import PartPlan
from logbook.records.context import is_sung, kind_of_part
from logbook.records.log import Log
from logbook.theory.compass import compass_of

BASS = 33
_STRINGED = {"bass": BASS, "short-scale bass": BASS, "banjo": 105, "electric guitar": 27,
             "classical guitar": 24, "ukulele": 24}  # fmt: skip
_STEEL_GUITAR, _PIANO, _CHOIR = 25, 0, 52
_UNFRETTED = {
    "piano": _PIANO, "electric piano": 4, "organ": 16, "harpsichord": 6, "clavi": 7,
    "accordion": 21, "celesta": 8, "vibraphone": 11, "marimba": 12, "glockenspiel": 9, "harp": 46,
    "piccolo": 72, "flute": 73, "alto flute": 73, "oboe": 68, "cor anglais": 69, "clarinet": 71,
    "a clarinet": 71, "e-flat clarinet": 71, "bass clarinet": 71, "bassoon": 70,
    "soprano saxophone": 64, "alto saxophone": 65, "tenor saxophone": 66,
    "baritone saxophone": 67, "trumpet": 56, "cornet": 56, "flugelhorn": 56, "horn": 60,
    "trombone": 57, "bass trombone": 57, "euphonium": 58, "tuba": 58, "violin": 40, "viola": 41,
    "cello": 42, "double bass": 43, "harmonica": 22, "recorder": 74, "whistle": 74,
}  # fmt: skip


def program_of(log: Log, plan: PartPlan) -> int:
    """The program a part of an arrangement sounds with; a piano for an unknown instrument."""
    if plan.after is not None:
        return _STRINGED.get(plan.after.tuning.kind, _STEEL_GUITAR)
    part = plan.part or plan.recorded
    known = compass_of(kind_of_part(log, part))
    if known is not None:
        return _UNFRETTED[known.kind]
    return _CHOIR if is_sung(log, part) else _PIANO
