"""How far the fretting hand reaches, in millimetres.

A finger stands right behind its fret, so the reach along the neck is the distance between the
lowest and the highest fingered fret: L 2^(-a/12) - L 2^(-b/12) on scale length L. Which reach is
comfortable differs from hand to hand; the default limit is four frets in a row at the nut of a
guitar, a little over the widest grip in common teaching use (no source).

That limit is index to little finger's. Each other pair of fingers has its own, in millimetres, so
that a short scale lets them cover more frets; the index finger parts widely from the others, ring
and little finger hardly from their neighbours (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable

from logbook.strings.frets import Position
from logbook.strings.instruments import fret_gap_mm

STRETCH_LIMIT_MM = 100.0
FINGER_LIMIT = 4
LITTLE_FINGER_STRINGS = 2
"""The little finger lies over two strings at most (common practice, no source)."""

PAIR_LIMITS_MM = {
    (1, 2): 70.0,
    (2, 3): 68.0,
    (3, 4): 60.0,
    (1, 3): 93.0,
    (2, 4): 80.0,
    (1, 4): STRETCH_LIMIT_MM,
}
"""How far apart two fingers, 1 the index, stand along the neck where the hand's limit is usual."""

STRAIN_CAUTION = (
    "A wide or new fingering can strain the hand: stop where it hurts, and ask a teacher, or a "
    "doctor if it lasts."
)
WIDE_MM = 85.0
REACH_MM = 160.0
"""Beyond this no hand is taken to reach, and no fingering is proposed (common sense, no source)."""


def pair_limit_mm(finger: int, other: int, limit_mm: float = STRETCH_LIMIT_MM) -> float:
    """Return how far apart two fingers reach, in mm, for a hand that reaches `limit_mm` in all."""
    return PAIR_LIMITS_MM[finger, other] * limit_mm / STRETCH_LIMIT_MM


def fingered_frets(position: Position) -> tuple[int, ...]:
    """Return the frets from the nut that a finger is needed for, in the order of the strings."""
    return tuple(at.fret for at in position if at is not None and at.fingered)


def stretch_mm(frets: Iterable[int], scale_mm: float) -> float:
    """Return the reach in mm along the neck over these frets from the nut; 0 for one or none."""
    among = tuple(frets)
    return fret_gap_mm(scale_mm, min(among), max(among)) if among else 0.0
