"""The bar map as text.

It reads without colour: a bar is its take's number, with "+" after it where the same bars of the
take are heard elsewhere too, "<" where they come from other bars, "^" where they were punched in.
"2/5" is a bar cut from take 2 to take 5, "2&5" a bar both claim, "--" one no piece covers. Where
two sessions share a take number, letters tell them apart. A key below explains the marks that
occur.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from logbook.editing.bar_map import BarMapCell, BarMapRow
from logbook.editing.takes import TakeId

_BARS_A_ROW = 8
_BARS_A_GROUP = 4
_NAME_WIDTH = 12
_MARKS = (
    ("is_repeated", "+", "the same bars of the take are heard elsewhere too"),
    ("is_moved", "<", "comes from other bars of the take"),
    ("is_punched", "^", "punched in"),
)


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
        for at, end in _lines_of(row, bars_a_row):
            lines.append(
                f"{_fit(name if at == 0 else ''):{_NAME_WIDTH}} {row.cells[at].bar:>4} | "
                + _grouped(row_texts[at:end], cell_width)
            )
    return lines + [f"  {line}" for line in bar_map_key(rows)]


def _lines_of(row: BarMapRow, bars_a_row: int) -> Iterator[tuple[int, int]]:
    """Where each line of a row begins and ends: a line counts on from the number it begins with."""
    start = 0
    for at in range(1, len(row.cells) + 1):
        skips = at < len(row.cells) and row.cells[at].bar != row.cells[at - 1].bar + 1
        if at == len(row.cells) or skips or at - start == bars_a_row:
            yield start, at
            start = at


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


def bar_map_key(rows: Sequence[BarMapRow]) -> list[str]:
    """What the marks that occur in a bar map mean, and which take a letter stands for."""
    letters = _letters(rows)
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
    return key
