"""The chord kinds a player meets, and how common each reading is.

A kind is its degrees and a rarity in points: 0 for the plainest names, about one point for each
step away from what a chart usually says. Rarities are judgement (common practice, no source); the
rest follows from the degrees. Degrees a player leaves out first carry a small cost, the ones that
make the chord what it is a large one.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.chord_symbol import suffix_of
from logbook.theory.degrees import degree_semitones

# degrees after the root: rarity
_KINDS = {
    "3 5": 0.0, "b3 5": 0.0, "5": 0.5,
    "4 5": 1.0, "2 5": 1.2, "b3 b5": 1.0, "3 #5": 1.0,
    "3 5 b7": 0.2, "b3 5 b7": 0.2, "3 5 7": 0.2,
    "3 5 6": 0.6, "b3 5 6": 0.8, "3 5 9": 0.8, "b3 5 9": 1.0,
    "b3 b5 b7": 0.6, "b3 b5 bb7": 0.6, "b3 5 7": 1.2, "4 5 b7": 0.8,
    "3 5 b7 9": 0.5, "b3 5 b7 9": 0.5, "3 5 7 9": 0.5, "3 5 6 9": 0.9, "b3 5 6 9": 1.2,
    "3 5 b7 b9": 0.8, "3 5 b7 #9": 0.8, "3 #5 b7": 1.0, "3 b5 b7": 1.2,
    "3 5 b7 #11": 1.6, "3 5 b7 b13": 1.6,
    "3 5 7 #11": 1.4, "3 #5 7": 1.4, "3 b5 7": 1.5, "b3 b5 7": 1.6, "b3 5 7 9": 1.4,
    "3 5 b7 9 11": 1.2, "b3 5 b7 9 11": 0.9, "3 5 7 9 11": 1.6, "b3 5 7 9 11": 1.8,
    "3 5 b7 9 13": 0.9, "3 5 7 9 13": 1.2, "b3 5 b7 9 13": 1.3, "b3 5 7 9 13": 2.2,
    "3 5 b7 9 #11": 1.2, "3 5 7 9 #11": 1.4, "3 5 b7 9 #11 13": 1.8, "3 5 7 9 #11 13": 2.0,
    "3 b5 b7 9": 1.5, "3 #5 b7 9": 1.3, "3 #5 b7 b9": 1.6, "3 #5 b7 #9": 1.4,
    "3 b5 b7 b9": 1.8, "3 b5 b7 #9": 1.8, "3 5 b7 b9 13": 1.5, "3 5 b7 #9 13": 2.0,
    "3 5 b7 b9 #11": 1.9, "3 5 b7 b9 b13": 1.9, "3 5 b7 9 b13": 2.0, "3 5 b7 b9 #9": 2.2,
    "3 5 b7 #9 #11": 2.2, "3 5 b7 #9 b13": 2.2, "3 b5 #5 b7 b9 #9": 2.0,
    "4 5 b7 9": 0.9, "4 5 b7 9 13": 1.3, "4 5 b7 b9": 1.5, "2 5 b7": 2.0, "4 5 7": 2.4,
    "4 5 9": 1.6, "4 5 7 9": 2.4,
    "b3 b5 b7 9": 1.5, "b3 b5 b7 11": 1.6, "b3 b5 b7 9 11": 1.8, "b3 b5 bb7 9": 2.2,
    "3 5 11": 1.8, "b3 5 11": 1.6, "3 5 9 11": 2.2, "b3 5 9 11": 2.2,
    "3 5 #11": 2.4, "3 5 b9": 3.0, "3 b5": 2.2, "b3 5 b6": 2.0, "b3 #5": 3.0,
    "b3 5 b7 11": 1.3, "3 5 b7 11": 1.8, "3 5 b7 13": 1.4, "3 5 7 13": 1.5, "b3 5 b7 13": 1.6,
    "3 5 6 #11": 2.2, "3 5 6 9 #11": 2.0, "b3 5 6 11": 2.4, "b3 5 6 9 11": 2.4,
    "3 #5 7 9": 2.0, "b3 b5 7 9": 2.4, "b3 #5 b7": 2.4, "3 5 9 #11": 2.4,
    "b3 5 b7 b9": 2.4, "b3 5 b7 9 11 13": 2.2, "3 5 b7 9 11 13": 2.4,
}  # fmt: skip


class Kind(NamedTuple):
    """One chord kind: suffix, degrees root first, pitch-class mask (bit 0 the root), rarity."""

    suffix: str
    degrees: tuple[str, ...]
    mask: int
    rarity: float


def mask_of(degrees: tuple[str, ...]) -> int:
    """Bit n set for a degree n semitones above the root."""
    mask = 0
    for degree in degrees:
        mask |= 1 << degree_semitones(degree)
    return mask


def all_kinds() -> tuple[Kind, ...]:
    """Every kind, built from the table above."""
    kinds = []
    for text, rarity in _KINDS.items():
        degrees = ("R", *text.split())
        kinds.append(Kind(suffix_of(frozenset(degrees)), degrees, mask_of(degrees), rarity))
    return tuple(kinds)
