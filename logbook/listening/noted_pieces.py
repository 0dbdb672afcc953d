"""What was found out about unknown stretches, put among the pieces of a bounce."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from logbook.listening.pieces import Piece

LEAST_SECONDS = 1.5  # of what is unknown
GOES_ON_SECONDS = 0.001
SCRAP_SECONDS, SAME_PLACE_SECONDS = 0.03, 0.004
MOSTLY = 0.5  # of a stretch must be unknown for what is known in it to be scraps
MOMENT_SECONDS = 0.7  # known for no longer, between what is not, is scraps of a processed piece


@dataclass(frozen=True, slots=True)
class NotedStretch:
    """Seconds `start` to `end` of the bounce come from `take`, beginning there at `source`.

    stretch: bounce time over take time. cents: how sharp the bounce is of the take. agreed: part
    of the notes that lie as a copy's do; faint: it keeps in step with its take (see faint) instead.
    """

    start: float
    end: float
    take: int
    source: float
    stretch: float
    cents: float
    agreed: float
    faint: bool = False
    inverted: bool = False

    def between(self, start: float, end: float) -> NotedStretch:
        """The part of it from `start` to `end`."""
        source = self.source + (start - self.start) / self.stretch
        return replace(self, start=start, end=end, source=source)


def _goes_on(one: NotedStretch, pieces: Sequence[Piece], speed: float, *, clean: bool) -> bool:
    """Whether it is a known piece going on at its place: then something else sounds over it.

    clean: takes fit well where they are known. Then short pieces at a place are no scraps, and say
    together what one long one says: between them the take would be known too.
    """
    if one.stretch != 1.0 or one.faint:
        return False
    offset = one.source - one.start
    there = [
        piece
        for piece in pieces
        if piece.take == one.take
        and abs(piece.source - piece.start / speed - offset) < SAME_PLACE_SECONDS
    ]
    if clean and one.cents == 0.0:
        certain = (each.length for each in there if not (each.faint or each.by_notes))
        if sum(certain) >= LEAST_SECONDS:
            return True
    return any(each.length >= LEAST_SECONDS for each in there)


def _contradicted(one: NotedStretch, pieces: Sequence[Piece], speed: float) -> bool:
    """Whether moments within it are certain, and of another place: from where others are, too.

    A processed piece leaves scraps of its own take where it happens to fit, and of others nowhere
    in particular. What is faint keeps in step with its take besides, and may hold anything.
    """
    if one.faint:
        return False
    start, end = one.start * speed, one.end * speed

    def place(piece: Piece) -> float:
        return piece.source - piece.start / speed

    def in_use(piece: Piece) -> bool:
        others = (
            other.length
            for other in pieces
            if other.take == piece.take
            and (other.end <= start or other.start >= end)
            and abs(place(other) - place(piece)) < GOES_ON_SECONDS
        )
        return sum(others) >= MOMENT_SECONDS

    return any(
        piece.take is not None
        and not (piece.faint or piece.by_notes)
        and piece.start >= start
        and piece.end <= end
        and (
            piece.take != one.take
            or (
                one.stretch == 1.0
                and abs(place(piece) - (one.source - one.start)) > SAME_PLACE_SECONDS
            )
        )
        and in_use(piece)
        for piece in pieces
    )


def with_noted(
    pieces: Sequence[Piece], noted: Sequence[NotedStretch], speed: float, *, clean: bool = False
) -> list[Piece]:
    """The pieces, those known by their notes in the place of what was unknown or scraps.

    speed: bounce time over the time that `noted` is in. clean: takes fit well where they are known.
    """
    out = list(pieces)
    for one in noted:
        if _goes_on(one, pieces, speed, clean=clean) or _contradicted(one, pieces, speed):
            continue
        start, end = one.start * speed, one.end * speed
        kept: list[Piece] = []
        for old in out:
            cut_off = old.take is None or old.by_notes or old.length < MOMENT_SECONDS
            if old.end <= start or old.start >= end or not cut_off:
                kept.append(old)
                if not cut_off:
                    # What is certain stands; the piece goes up to it.
                    start = max(start, old.end) if old.start <= start < old.end else start
                    end = min(end, old.start) if old.start < end <= old.end else end
                continue
            kept += [
                replace(old, start=a, end=b, source=old.source + (a - old.start) / old.stretch)
                for a, b in ((old.start, start), (end, old.end))
                if b - a > SCRAP_SECONDS
            ]
        if end - start > SCRAP_SECONDS:
            source = one.source + (start / speed - one.start) / one.stretch
            kept.append(
                Piece(
                    start=start,
                    end=end,
                    source=max(0.0, source),
                    take=one.take,
                    gain_db=0.0,
                    confidence=round(one.agreed, 3),
                    stretch=one.stretch * speed,
                    cents=one.cents,
                    by_notes=not one.faint,
                    faint=one.faint,
                    inverted=one.inverted,
                )
            )
        out = sorted(kept, key=lambda piece: piece.start)
    # Without gaps: a scrap left beside a piece goes to it.
    return [
        replace(piece, end=out[n + 1].start if n + 1 < len(out) else pieces[-1].end)
        for n, piece in enumerate(out)
    ]


def going_on(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces, faint ones made one with neighbours that are the same take going on."""
    out: list[Piece] = []
    bridged = False  # whether the last one has something faint in it
    for piece in pieces:
        old = out[-1] if out else None
        if (
            old is None
            or old.take is None
            or old.take != piece.take
            or not (bridged or piece.faint)
            or old.by_notes
            or piece.by_notes
            or old.stretch != piece.stretch
            or abs(old.offset - piece.offset) > GOES_ON_SECONDS
        ):
            out.append(piece)
            bridged = piece.faint
            continue
        bridged = True
        longer = max(old, piece, key=lambda each: (not each.faint, each.length))
        sure = (old.length * old.confidence + piece.length * piece.confidence) / (
            old.length + piece.length
        )
        out[-1] = replace(
            longer,
            start=old.start,
            end=piece.end,
            source=max(0.0, longer.source - (longer.start - old.start) / longer.stretch),
            confidence=round(sure, 3),
            fade=old.fade,
        )
    return out


def joined(unknown: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Unknown stretches made one over what is known only for a moment between them.

    Where moments are known all along they are pieces, and what lies between them is left alone.
    """
    groups: list[list[tuple[float, float]]] = []
    for start, end in unknown:
        if not groups or start - groups[-1][-1][1] >= MOMENT_SECONDS:
            groups.append([])
        groups[-1].append((start, end))
    out: list[tuple[float, float]] = []
    for group in groups:
        whole = (group[0][0], group[-1][1])
        part = sum(end - start for start, end in group)
        out += [whole] if part >= MOSTLY * (whole[1] - whole[0]) else group
    return out
