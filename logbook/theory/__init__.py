"""Pitch, spelling, keys, chords and chord names: pure, and nothing of ours below it."""

from logbook.theory.chord_name import ChordName
from logbook.theory.chord_symbol import ChordSymbol, ChordSymbolError
from logbook.theory.judge import Verdict, judge
from logbook.theory.keys import Key, parse_key
from logbook.theory.names import name_chord
from logbook.theory.pitch import hz_to_midi, midi_to_hz, midi_to_name, name_to_midi, pitch_class
from logbook.theory.symbols import read_symbol

__all__ = [
    "ChordName",
    "ChordSymbol",
    "ChordSymbolError",
    "Key",
    "Verdict",
    "hz_to_midi",
    "judge",
    "midi_to_hz",
    "midi_to_name",
    "name_chord",
    "name_to_midi",
    "parse_key",
    "pitch_class",
    "read_symbol",
]
