"""The shape of a position: its frets counted from the lowest fingered one, wherever that lies."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.strings.frets import Position

MUTED = -1
OPEN = 0
Shape = tuple[int, ...]
"""Each string low to high: -1 not played, 0 open, else frets counted from the lowest as 1."""


def shape_of(position: Position) -> Shape:
    """Return the shape of a position, without its place on the neck."""
    lowest = min((at.fret for at in position if at is not None and at.fingered), default=0)
    return tuple(
        MUTED if at is None else (at.fret - lowest + 1 if at.fingered else OPEN) for at in position
    )


def height_of(position: Position) -> int:
    """Return how many frets above its open string the lowest fingered fret lies; 0 without one."""
    pressed = [(at.fret, at.fret - at.stop) for at in position if at is not None and at.fingered]
    return min(pressed)[1] if pressed else 0


def shape_of_frets(frets: Sequence[int | None]) -> tuple[Shape, int]:
    """Return the shape of frets from the nut (None: not played), and the lowest fingered fret."""
    lowest = min((fret for fret in frets if fret), default=0)
    shape = (MUTED if fret is None else fret - lowest + 1 if fret else OPEN for fret in frets)
    return tuple(shape), lowest
