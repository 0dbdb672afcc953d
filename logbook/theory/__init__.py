"""Pitch, spelling, keys, chords and chord names: pure, and nothing of ours below it."""

from logbook.theory.chord_name import ChordName
from logbook.theory.chord_symbol import ChordSymbol, ChordSymbolError
from logbook.theory.harmony import diatonic_chords, plain_number, roman_numeral
from logbook.theory.judge import Verdict, judge
from logbook.theory.keys import Key, parse_key
from logbook.theory.likely import LikelyKey, likely_keys
from logbook.theory.names import name_chord
from logbook.theory.pitch import hz_to_midi, midi_to_hz, midi_to_name, name_to_midi, pitch_class
from logbook.theory.symbols import nearest_symbol, read_symbol, transpose_symbol

__all__ = [
    "ChordName",
    "ChordSymbol",
    "ChordSymbolError",
    "Key",
    "LikelyKey",
    "Verdict",
    "diatonic_chords",
    "hz_to_midi",
    "judge",
    "likely_keys",
    "midi_to_hz",
    "midi_to_name",
    "name_chord",
    "name_to_midi",
    "nearest_symbol",
    "parse_key",
    "pitch_class",
    "plain_number",
    "read_symbol",
    "roman_numeral",
    "transpose_symbol",
]
