"""Comp pieces whose bars, or the bars they were taken from, have moved in a form.

Conventions. A `place` says where an old bar of a form is now, None for one that is gone. A piece of
whole bars is parted where its bars no longer follow one another; its crossfade stays at the first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from logbook.names import alike
from logbook.records.parts import CompPiece, Part
from logbook.timing.bars import BarPoint, BarRange, bars, parse_range


def moved_piece(piece: CompPiece, place: Callable[[int], int | None]) -> list[CompPiece]:
    """Return what became of a piece when the form it stands in changed; nothing where it went."""
    span, source = parse_range(piece.bars), parse_range(piece.source or piece.bars)
    if piece.from_version:
        piece = replace(piece, source=str(source))
    if not (span.is_whole_bars and source.is_whole_bars and len(span.bars) == len(source.bars)):
        runs = runs_of(span, place)
        sources = [source] if piece.from_version else runs_of(source, place)
        if not runs or not sources:
            return []
        return [replace(piece, bars=str(runs[0]), source=str(sources[0]))]
    pairs = [
        (new, came)
        for bar, origin in zip(span.bars, source.bars, strict=True)
        if (new := place(bar)) is not None
        # Bars of a take that are gone from the form were played all the same.
        and (came := place(origin) if place(origin) is not None else new) is not None
    ]
    if piece.from_version:
        # Bars of another version stay what they are, whatever happens to this one's form.
        pairs = [
            (new, origin)
            for bar, origin in zip(span.bars, source.bars, strict=True)
            if (new := place(bar)) is not None
        ]
    return _joined(piece, sorted(pairs))


def _joined(piece: CompPiece, pairs: list[tuple[int, int]]) -> list[CompPiece]:
    """A piece as the fewest that put each pair's second bar, of the source, at its first."""
    found: list[CompPiece] = []
    first = 0
    for at in range(1, len(pairs) + 1):
        before = pairs[at - 1]
        if at == len(pairs) or pairs[at] != (before[0] + 1, before[1] + 1):
            stands = bars(pairs[first][0], before[0])
            taken = bars(pairs[first][1], before[1])
            found.append(
                replace(
                    piece,
                    bars=str(stands),
                    source=str(taken) if piece.source or taken != stands else "",
                    crossfade_ms=piece.crossfade_ms if first == 0 else None,
                )
            )
            first = at
    return found


def drawn_along(
    part: Part,
    owner: str,
    version: str,
    place: Callable[[int], int | None],
    told: list[str],
) -> Part:
    """Return a part of version `owner` whose comps follow the bars of `version`, where they draw.

    What cannot follow is added to `told`: bars of the source that are gone from the form.
    """
    comps = []
    for comp in part.comps:
        pieces: list[CompPiece] = []
        for piece in comp.pieces:
            if not piece.from_version or not alike(piece.from_version, version):
                pieces.append(piece)
                continue
            moved = _source_moved(piece, place)
            if sum(_length(each) for each in moved) != _length(piece):
                who = f"{comp.name} of {part.name}, {owner}"
                told.append(
                    f"{who}: bars {piece.source or piece.bars} of {version}, which stand at"
                    f" {piece.bars}, are {'no longer all' if moved else 'no longer'} in its form"
                )
            pieces += moved
        comps.append(replace(comp, pieces=tuple(pieces)))
    return replace(part, comps=tuple(comps))


def _length(piece: CompPiece) -> int:
    span = parse_range(piece.bars)
    return len(span.bars) if span.is_whole_bars else 1


def _source_moved(piece: CompPiece, place: Callable[[int], int | None]) -> list[CompPiece]:
    span, source = parse_range(piece.bars), parse_range(piece.source or piece.bars)
    if span.is_whole_bars and source.is_whole_bars and len(span.bars) == len(source.bars):
        found = [
            (bar, came)
            for bar, origin in zip(span.bars, source.bars, strict=True)
            if (came := place(origin)) is not None
        ]
        return _joined(piece, found)
    runs = runs_of(source, place)
    return [replace(piece, source=str(BarRange(runs[0].start, runs[-1].end)))] if runs else []


def runs_of(span: BarRange, place: Callable[[int], int | None]) -> list[BarRange]:
    """What became of a stretch: one range, or several where other bars lie between now."""
    last = span.end.bar - (span.end.beat == 1)
    moved = {bar: new for bar in range(span.start.bar, last + 1) if (new := place(bar)) is not None}
    numbers = sorted(moved.values())
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    found = []
    for first, end in runs:
        start, stop = BarPoint(first), BarPoint(end + 1)
        if first == moved.get(span.start.bar):
            start = BarPoint(first, span.start.beat)
        if end == moved.get(last) and span.end.beat > 1:
            stop = BarPoint(end, span.end.beat)
        if start < stop:
            found.append(BarRange(start, stop))
    return found
