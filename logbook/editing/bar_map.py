"""The bar map: which take every bar of the finished part comes from, as plain data."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from logbook.editing.spans import Span, common, without
from logbook.editing.survey import CompSurvey, Section
from logbook.editing.takes import TakeId, TakeSpan, take_of
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap


class BarMapCell(NamedTuple):
    """One bar of the finished part: the takes heard in it, in order, and what is special about it.

    `is_gap` says that nothing covers it, `is_partly_empty` that only a part of it is covered.
    """

    bar: int
    takes: tuple[TakeId, ...]
    is_gap: bool
    is_partly_empty: bool
    is_overlap: bool
    is_moved: bool
    is_repeated: bool
    is_punched: bool


class BarMapRow(NamedTuple):
    """The bars of one section; a pick-up's row is named so, of bars outside the form ""."""

    section: str
    cells: tuple[BarMapCell, ...]


class _Spans(NamedTuple):
    """The survey's ranges in whole notes, worked out once for all bars."""

    pieces: list[tuple[TakeId, Span]]
    overlaps: list[Span]
    moved: list[Span]
    repeated: list[Span]
    punched: list[Span]


def bar_map(
    survey: CompSurvey, takes: Sequence[TakeSpan], form: Sequence[Section], tempo_map: TempoMap
) -> tuple[BarMapRow, ...]:
    """The bar map as plain data: a row for a pick-up that is heard, for each section, and for
    bars outside the form.
    """
    spans = _spans(survey, takes, tempo_map)
    seen: set[int] = set()
    rows = []
    for section in form:
        numbers = [bar for bar in section.bars.bars if bar not in seen]
        seen.update(numbers)
        if numbers:
            cells = tuple(_cell(bar, spans, tempo_map) for bar in numbers)
            rows.append(BarMapRow(section.name, cells))
    outside = {bar for each in survey.covered for bar in each.bars if bar not in seen}
    if 0 in outside and tempo_map.pickup:
        outside.remove(0)
        rows.insert(0, BarMapRow("pick-up", (_cell(0, spans, tempo_map),)))
    if outside:
        rows.append(BarMapRow("", tuple(_cell(bar, spans, tempo_map) for bar in sorted(outside))))
    return tuple(rows)


def _spans(survey: CompSurvey, takes: Sequence[TakeSpan], tempo_map: TempoMap) -> _Spans:
    pieces = []
    for piece in survey.pieces:
        take = take_of(takes, piece.take)
        pieces.append((take.id if take else piece.take, tempo_map.span_of(piece.bars)))

    def in_wholes(ranges: Iterable[BarRange]) -> list[Span]:
        return [tempo_map.span_of(each) for each in ranges]

    return _Spans(
        pieces=pieces,
        overlaps=in_wholes(each.bars for each in survey.overlaps),
        moved=in_wholes(each.at for each in survey.reuses if each.is_moved),
        repeated=in_wholes(each.at for each in survey.reuses if each.is_repeated),
        punched=in_wholes(place for each in survey.punch_ins for place in each.at),
    )


def _cell(bar: int, spans: _Spans, tempo_map: TempoMap) -> BarMapCell:
    span = (tempo_map.bar_start(bar), tempo_map.bar_start(bar + 1))
    heard = [(take, at) for take, at in spans.pieces if common(at, span)]
    whole = any(at[0] <= span[0] and span[1] <= at[1] for _, at in heard)
    empty = [] if whole else without([span], [at for _, at in heard])
    return BarMapCell(
        bar=bar,
        takes=tuple(dict.fromkeys(take for take, _ in heard)),
        is_gap=empty == [span],
        is_partly_empty=bool(empty) and empty != [span],
        is_overlap=_touches(spans.overlaps, span),
        is_moved=_touches(spans.moved, span),
        is_repeated=_touches(spans.repeated, span),
        is_punched=_touches(spans.punched, span),
    )


def _touches(spans: Sequence[Span], span: Span) -> bool:
    return any(common(each, span) for each in spans)
