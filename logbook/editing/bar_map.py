"""The bar map: which take every bar of the finished part comes from, as data and as text.

The text reads without colour: a bar is its take's number, with "+" after it where the same bars
of the take are heard elsewhere too, "<" where they come from other bars, "^" where they were
punched in. "2/5" is a bar cut from take 2 to take 5, "2&5" a bar both claim, "--" one no piece
covers. Where two sessions share a take number, letters tell them apart. A key below explains the
marks that occur.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from logbook.editing.spans import Span, common, without
from logbook.editing.survey import CompSurvey, Section
from logbook.editing.takes import Take, TakeId, take_of
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

_BARS_A_ROW = 8
_BARS_A_GROUP = 4
_NAME_WIDTH = 12
_MARKS = (
    ("is_repeated", "+", "the same bars of the take are heard elsewhere too"),
    ("is_moved", "<", "comes from other bars of the take"),
    ("is_punched", "^", "punched in"),
)


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
    survey: CompSurvey, takes: Sequence[Take], form: Sequence[Section], tempo_map: TempoMap
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


def bar_map_lines(rows: Sequence[BarMapRow], width: int = 80) -> list[str]:
    """The bar map as lines no wider than `width` (at least 40), and a key to its marks."""
    letters = _letters(rows)
    texts = [[_cell_text(cell, letters) for cell in row.cells] for row in rows]
    cell_width = max((len(text) for row in texts for text in row), default=1)
    room = width - _NAME_WIDTH - 7
    groups = max(room // (_BARS_A_GROUP * (cell_width + 1) + 2), 0)
    bars_a_row = min(groups * _BARS_A_GROUP, _BARS_A_ROW) or max(room // (cell_width + 1), 1)
    lines = []
    for row, row_texts in zip(rows, texts, strict=True):
        name = row.section or "(outside)"
        for at in range(0, len(row_texts), bars_a_row):
            cells = row_texts[at : at + bars_a_row]
            lines.append(
                f"{_fit(name if at == 0 else ''):{_NAME_WIDTH}} {row.cells[at].bar:>4} | "
                + _grouped(cells, cell_width)
            )
    return lines + _key_lines(rows, letters)


def _spans(survey: CompSurvey, takes: Sequence[Take], tempo_map: TempoMap) -> _Spans:
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
    empty = without([span], [at for _, at in heard])
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


def _letters(rows: Sequence[BarMapRow]) -> dict[TakeId, str]:
    """A letter for each take whose number another take in the map has too."""
    used = sorted({take for row in rows for cell in row.cells for take in cell.takes})
    numbers = [take.number for take in used]
    letters: dict[TakeId, str] = {}
    for take in used:
        if numbers.count(take.number) > 1:
            before = sum(other.number == take.number for other in letters)
            letters[take] = chr(ord("a") + before)
    return letters


def _cell_text(cell: BarMapCell, letters: dict[TakeId, str]) -> str:
    if cell.is_gap:
        return "--"
    names = [f"{take.number}{letters.get(take, '')}" for take in cell.takes]
    if cell.is_partly_empty:
        names.append("-")
    text = ("&" if cell.is_overlap else "/").join(names)
    return text + "".join(mark for name, mark, _ in _MARKS if getattr(cell, name))


def _grouped(cells: Sequence[str], cell_width: int) -> str:
    groups = [
        " ".join(cell.ljust(cell_width) for cell in cells[at : at + _BARS_A_GROUP])
        for at in range(0, len(cells), _BARS_A_GROUP)
    ]
    return " | ".join(groups).rstrip()


def _fit(name: str) -> str:
    return name if len(name) <= _NAME_WIDTH else name[: _NAME_WIDTH - 1] + "~"


def _key_lines(rows: Sequence[BarMapRow], letters: dict[TakeId, str]) -> list[str]:
    cells = [cell for row in rows for cell in row.cells]
    key = [
        f"{mark} {meaning}"
        for name, mark, meaning in _MARKS
        if any(getattr(cell, name) for cell in cells)
    ]
    if any(cell.is_gap or cell.is_partly_empty for cell in cells):
        key.append("- nothing")
    if any(len(cell.takes) > 1 and not cell.is_overlap for cell in cells):
        key.append("2/5 cut inside the bar")
    if any(cell.is_overlap for cell in cells):
        key.append("2&5 claimed by both")
    key += [
        f"{take.number}{letter} take {take.number} of {take.session or 'no session'}"
        for take, letter in letters.items()
    ]
    return [f"  {line}" for line in key]
