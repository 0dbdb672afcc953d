"""A long bounce listened to in sections, and their pieces sewn together again.

What is held for a moment of the bounce grows with the number of places found, so that an hour at
once would not fit. Sections lie over one another; each seam is in the middle of where two do, and
what goes on across it is one piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logbook.listening.pieces import AlsoIn, Piece

SECTION_SECONDS = 300.0
LONGEST_SECONDS = 420.0  # of a bounce that is listened to at once
OVER_SECONDS = 12.0
SAME_SECONDS = 0.001
SCRAP_SECONDS = 0.05


def sections(seconds: float) -> list[tuple[float, float]]:
    """Start and end of the sections of a bounce, each lying over the next by `OVER_SECONDS`."""
    if seconds <= LONGEST_SECONDS:
        return [(0.0, seconds)]
    count = round(seconds / SECTION_SECONDS)
    step = seconds / count
    half = 0.5 * OVER_SECONDS
    return [(max(0.0, n * step - half), min(seconds, (n + 1) * step + half)) for n in range(count)]


def sewn(parts: Sequence[tuple[float, Sequence[Piece]]]) -> list[Piece]:
    """Pieces of sections (where each begins, and its pieces counted from there) as of the whole."""
    out: list[Piece] = []
    for at, pieces in parts:
        moved = [_moved(piece, at) for piece in pieces]
        if out:
            seam = 0.5 * (out[-1].end + moved[0].start)
            out = _up_to(out, seam)
            moved = _from(moved, seam)
            moved[0] = replace(moved[0], start=out[-1].end) if moved[0].take is None else moved[0]
            if _goes_on(out[-1], moved[0]):
                out[-1] = _one(out[-1], moved.pop(0))
        out += moved
    return out


def _moved(piece: Piece, by: float) -> Piece:
    return replace(piece, start=piece.start + by, end=piece.end + by)


def _up_to(pieces: Sequence[Piece], seam: float) -> list[Piece]:
    out = [piece for piece in pieces if piece.start < seam - SCRAP_SECONDS]
    return [*out[:-1], replace(out[-1], end=seam)]


def _from(pieces: Sequence[Piece], seam: float) -> list[Piece]:
    out = [piece for piece in pieces if piece.end > seam + SCRAP_SECONDS]
    first = out[0]
    if first.take is None:
        return [replace(first, start=seam), *out[1:]]
    later = (seam - first.start) / first.stretch
    also = tuple(AlsoIn(one.take, one.source + later) for one in first.also)
    begun = replace(first, start=seam, source=first.source + later, also=also)
    return [begun if seam <= first.start else replace(begun, fade=0.0), *out[1:]]


def _goes_on(one: Piece, other: Piece) -> bool:
    """Whether the second piece is the first going on."""
    if one.take != other.take or one.by_notes != other.by_notes:
        return False
    if one.take is None:
        return True
    source = one.source + (other.start - one.start) / one.stretch
    return abs(source - other.source) < SAME_SECONDS and one.inverted == other.inverted


def _one(one: Piece, other: Piece) -> Piece:
    """Two pieces of one place as one."""
    both = {each.take for each in other.also}
    return replace(
        one,
        end=other.end,
        confidence=min(one.confidence, other.confidence),
        also=tuple(each for each in one.also if each.take in both),
    )
