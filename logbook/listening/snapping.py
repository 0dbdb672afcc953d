"""Pieces in seconds made into a comp in bars: what a listener would log.

Music time is seconds of the tempo map; `bounce_at_s` and `takes_at_s` say where in each file the
music (bar 1, or the pick-up) begins, negative when a file starts later than the music. An edit
that falls within a few milliseconds of a bar line, a beat or an even part of one is put there;
others keep the simplest place that is near enough. What no take explains becomes no line.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from logbook.editing.comp import EditPiece
from logbook.editing.takes import TakeId
from logbook.editing.words import listed
from logbook.listening.extra import ListeningError
from logbook.listening.pieces import Piece
from logbook.timing import BarRange, TempoMap
from logbook.timing.simplest import simplest_between

NEAR_SECONDS = Fraction(15, 1000)  # an edit is heard to within a crossfade of where it is
EXACT_SECONDS = Fraction(2, 1000)
PARTS = (1, 2, 3, 4, 6, 8)  # of a beat, the plainest first
MICROSECOND = 1_000_000


@dataclass(frozen=True, kw_only=True, slots=True)
class Snapped:
    """One piece in bars.

    take and source are None for unknown sound. start_moved_ms: how far the grid moved its start.
    on_grid: whether the start is on a bar, a beat or an even part of one. also: other takes that
    hold the same recording there.
    """

    piece: Piece
    bars: BarRange
    take: TakeId | None
    source: BarRange | None
    start_moved_ms: float
    on_grid: bool
    also: tuple[TakeId, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class CompDifference:
    """Bars at which what was heard is not what is logged.

    heard and logged are the take and its bars, or None for unknown sound and for bars without a
    line.
    """

    bars: BarRange
    heard: tuple[TakeId, BarRange] | None
    logged: tuple[TakeId, BarRange] | None


def infer_takes_at(
    pieces: Sequence[Piece], take_count: int, bounce_at_s: float = 0.0
) -> list[float | None]:
    """Where the music begins in each take, supposing most of what is used stands in its place.

    For each take the offset with the greatest total length; None for a take that is not used.
    """
    out: list[float | None] = []
    for take in range(take_count):
        total: dict[int, float] = {}
        for piece in pieces:
            if piece.take == take:
                key = round(piece.offset * 1000)
                total[key] = total.get(key, 0.0) + piece.length
        if not total:
            out.append(None)
            continue
        best = max(total, key=lambda key: total[key])
        offsets = [p.offset for p in pieces if p.take == take and round(p.offset * 1000) == best]
        out.append(bounce_at_s + offsets[0])
    return out


def snap(
    pieces: Sequence[Piece],
    tempo_map: TempoMap,
    take_ids: Sequence[TakeId],
    takes_at_s: Sequence[float | None],
    *,
    bounce_at_s: float = 0.0,
    last_bar: int | None = None,
) -> list[Snapped]:
    """Pieces as bars of the version, in order; what lies before or after the music is left out.

    last_bar: of the form; None ends with the bar line nearest to the end of the bounce.
    Raises ListeningError when a take that is used has no known start of the music, or when none
    of the bounce lies in the music.
    """
    if not pieces:
        return []
    end = _end(tempo_map, pieces[-1].end - bounce_at_s, last_bar)
    edges = [_placed(tempo_map, piece.start - bounce_at_s, end) for piece in pieces]
    edges[0] = (Fraction(0), True) if pieces[0].start - bounce_at_s <= NEAR_SECONDS else edges[0]
    out: list[Snapped] = []
    for number, piece in enumerate(pieces):
        start, on_grid = edges[number]
        stop = edges[number + 1][0] if number + 1 < len(pieces) else end
        if stop <= start:
            continue
        at = float(tempo_map.seconds_at_wholes(start)) + bounce_at_s
        source = None
        if piece.take is not None:
            source = _source(tempo_map, piece, at, stop - start, takes_at_s[piece.take], take_ids)
        out.append(
            Snapped(
                piece=piece,
                bars=tempo_map.range_between(start, stop),
                take=None if piece.take is None else take_ids[piece.take],
                source=source,
                start_moved_ms=1000.0 * (at - piece.start),
                on_grid=on_grid,
                also=_also(piece, take_ids),
            )
        )
    if not out:
        raise ListeningError(
            "none of the bounce lies in the bars of the version",
            "say where in the bounce the music begins",
        )
    return out


def _fraction(seconds: float) -> Fraction:
    """Seconds to the microsecond, exact from there on."""
    return Fraction(round(seconds * MICROSECOND), MICROSECOND)


def _end(tempo_map: TempoMap, seconds: float, last_bar: int | None) -> Fraction:
    """Where the music ends, in whole notes: after the last bar, or the nearest bar line."""
    if last_bar is not None:
        return tempo_map.bar_start(last_bar + 1)
    wholes = max(tempo_map.wholes_at_seconds(_fraction(seconds)), Fraction(0))
    bar = tempo_map.point_at(wholes).bar
    before, after = tempo_map.bar_start(bar), tempo_map.bar_start(bar + 1)
    return before if wholes - before < after - wholes and before > 0 else after


def _placed(tempo_map: TempoMap, seconds: float, end: Fraction) -> tuple[Fraction, bool]:
    """Whole notes of a time, on the grid where it is near it, and whether it is."""
    exact = _fraction(seconds)
    if exact <= 0:
        return Fraction(0), True
    wholes = tempo_map.wholes_at_seconds(exact)
    if wholes >= end:
        return end, True
    here = tempo_map.point_at(wholes)
    lines = {tempo_map.bar_start(here.bar), tempo_map.bar_start(here.bar + 1)}
    for line in sorted(lines, key=lambda each: abs(each - wholes)):
        if abs(tempo_map.seconds_at_wholes(line) - exact) <= NEAR_SECONDS:
            return min(line, end), True
    beat = tempo_map.meter_at(here.bar).beat_length
    start = tempo_map.bar_start(here.bar)
    for parts in PARTS:
        near = start + round((wholes - start) / (beat / parts)) * (beat / parts)
        tolerance = NEAR_SECONDS / min(parts, 4)
        if abs(tempo_map.seconds_at_wholes(near) - exact) <= tolerance:
            return min(near, end), True
    low = tempo_map.wholes_at_seconds(exact - EXACT_SECONDS)
    high = tempo_map.wholes_at_seconds(exact + EXACT_SECONDS)
    return start + beat * simplest_between((low - start) / beat, (high - start) / beat), False


def _source(
    tempo_map: TempoMap,
    piece: Piece,
    at_s: float,
    length: Fraction,
    take_at_s: float | None,
    take_ids: Sequence[TakeId],
) -> BarRange:
    """The bars of its take a piece comes from."""
    assert piece.take is not None
    if take_at_s is None:
        raise ListeningError(
            f"nobody knows where the music begins in take {take_ids[piece.take]}",
            "log the bars it covers",
        )
    start, _ = _placed(tempo_map, at_s + piece.offset - take_at_s, Fraction(10**9))
    return tempo_map.range_between(start, start + length)


def as_comp(snapped: Iterable[Snapped]) -> tuple[EditPiece, ...]:
    """The comp that would be logged: one line for each piece that is known.

    Long crossfades are told to 10 ms, as well as they are heard.
    """
    return tuple(
        EditPiece(
            bars=one.bars,
            take=one.take,
            source=one.source,
            crossfade_ms=10 * Fraction(round(100 * one.piece.fade)),
            note=also_said(f"take {take}" for take in one.also),
        )
        for one in snapped
        if one.take is not None and one.source is not None
    )


def also_said(names: Iterable[str]) -> str:
    """That other takes hold the same recording: "also in take 5 and take 6"; "" where none does."""
    said = listed(list(names))
    return f"also in {said}" if said else ""


def _also(piece: Piece, take_ids: Sequence[TakeId]) -> tuple[TakeId, ...]:
    """The other takes of a piece, each once; a take's other files are the same take."""
    own = None if piece.take is None else take_ids[piece.take]
    return tuple(dict.fromkeys(take_ids[a.take] for a in piece.also if take_ids[a.take] != own))


def unknown_bars(snapped: Iterable[Snapped]) -> tuple[BarRange, ...]:
    """Bars of the finished part that come from no take that was given."""
    return tuple(one.bars for one in snapped if one.take is None)


def differences(
    heard: Sequence[EditPiece], logged: Sequence[EditPiece], tempo_map: TempoMap
) -> tuple[CompDifference, ...]:
    """Where two comps of a part disagree, in order, neighbours of the same kind joined.

    A crossfade or a note that differs is no difference.
    """
    points: set[Fraction] = set()
    for piece in (*heard, *logged):
        points.update(tempo_map.span_of(piece.bars))
    edges = sorted(points)
    out: list[tuple[Fraction, Fraction, EditPiece | None, EditPiece | None]] = []
    for low, high in pairwise(edges):
        a, b = _piece_at(heard, low, tempo_map), _piece_at(logged, low, tempo_map)
        if _shift(a, tempo_map) == _shift(b, tempo_map):
            continue
        if out and out[-1][1] == low and out[-1][2] is a and out[-1][3] is b:
            out[-1] = (out[-1][0], high, a, b)
        else:
            out.append((low, high, a, b))
    return tuple(
        CompDifference(
            bars=tempo_map.range_between(low, high),
            heard=_from(a, low, high, tempo_map),
            logged=_from(b, low, high, tempo_map),
        )
        for low, high, a, b in out
    )


def _piece_at(
    pieces: Sequence[EditPiece], wholes: Fraction, tempo_map: TempoMap
) -> EditPiece | None:
    for piece in pieces:
        start, end = tempo_map.span_of(piece.bars)
        if start <= wholes < end:
            return piece
    return None


def _shift(piece: EditPiece | None, tempo_map: TempoMap) -> tuple[TakeId, Fraction] | None:
    """The take, and how far from its place in the form it was played, in whole notes."""
    if piece is None:
        return None
    return piece.take, tempo_map.span_of(piece.source)[0] - tempo_map.span_of(piece.bars)[0]


def _from(
    piece: EditPiece | None, low: Fraction, high: Fraction, tempo_map: TempoMap
) -> tuple[TakeId, BarRange] | None:
    if piece is None:
        return None
    shift = tempo_map.span_of(piece.source)[0] - tempo_map.span_of(piece.bars)[0]
    return piece.take, tempo_map.range_between(low + shift, high + shift)
