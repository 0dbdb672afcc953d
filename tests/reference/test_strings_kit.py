"""The note numbers of the kit's pieces.

Source: General MIDI System Level 1 (MIDI Manufacturers Association), percussion key map; the shaker
is of General MIDI 2 (number from memory).
"""

from __future__ import annotations

from logbook.strings.kit import PIECES

KEY_MAP = {
    "kick": 36, "cross-stick": 37, "snare": 38, "clap": 39, "low floor tom": 41, "hat": 42,
    "floor tom": 43, "pedal hat": 44, "low tom": 45, "open hat": 46, "mid tom": 47, "crash": 49,
    "high tom": 50, "ride": 51, "china": 52, "ride bell": 53, "tambourine": 54, "splash": 55,
    "cowbell": 56, "second crash": 57, "high bongo": 60, "low bongo": 61, "muted conga": 62,
    "high conga": 63, "low conga": 64, "high timbale": 65, "low timbale": 66, "high agogo": 67,
    "low agogo": 68, "cabasa": 69, "maracas": 70, "claves": 75, "wood block": 76,
    "low wood block": 77, "triangle": 81, "shaker": 82,
}  # fmt: skip


def test_every_piece_has_the_note_of_the_key_map() -> None:
    assert {piece.name: piece.midi for piece in PIECES.values()} == KEY_MAP
