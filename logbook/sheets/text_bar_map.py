"""The bar map as text.

It reads without colour: a bar is its take's number, with "+" after it where the same bars of the
take are also heard elsewhere, "<" where they come from other bars, "^" where they were punched in.
"2/5" is a bar cut from take 2 to take 5, "2&5" a bar both claim, "--" one no piece covers. Where
two takes share a number, letters tell them apart; a finished file is told by its word ("mix"). A
key below explains the marks that occur.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from logbook.editing.bar_map import BarMapCell, BarMapRow
from logbook.editing.takes import FINISHED, TakeId
from logbook.editing.words import named

_BARS_A_ROW = 8
_BARS_A_GROUP = 4
_NAME_WIDTH = 12
_MARKS = (
    ("is_repeated", "+", "the same bars of the take are also heard elsewhere"),
    ("is_moved", "<", "comes from other bars of the take"),
    ("is_punched", "^", "punched in"),
)


def bar_map_lines(rows: Sequence[BarMapRow], width: int = 80) -> list[str]:
    """The bar map as lines no wider than `width` (at least 40), and a key to its marks."""
    labels = take_labels(takes_in(rows))
    texts = [[_cell_text(cell, labels) for cell in row.cells] for row in rows]
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


def takes_in(rows: Sequence[BarMapRow]) -> list[TakeId]:
    """Every take that is heard in a map, in order."""
    return sorted({take for row in rows for cell in row.cells for take in cell.takes})


def take_labels(takes: Sequence[TakeId]) -> dict[TakeId, str]:
    """What stands for a take in a map: its number, with a letter where several share it.

    A finished file is told by its word: "mix".
    """
    words = [_label(take) for take in takes]
    labels: dict[TakeId, str] = {}
    for take, word in zip(takes, words, strict=True):
        before = sum(_label(other) == word for other in labels)
        letter = chr(ord("a") + before) if words.count(word) > 1 else ""
        labels[take] = f"{word}{letter}"
    return labels


def _label(take: TakeId) -> str:
    if not take.file:
        return str(take.number)
    return take.file if take.file in FINISHED else "file"


def _cell_text(cell: BarMapCell, labels: dict[TakeId, str]) -> str:
    if cell.is_gap:
        return "--"
    names = [labels[take] for take in cell.takes]
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
    """What the marks that occur in a bar map mean, and which take a label stands for."""
    labels = take_labels(takes_in(rows))
    return bar_map_marks(rows) + [
        f"{label} {take_key(take, labels)}"
        for take, label in labels.items()
        if take.is_elsewhere or label != str(take.number)
    ]


def take_key(take: TakeId, labels: Iterable[TakeId]) -> str:
    """Which take a label stands for: "take 2 of Saturday", "the mix of album"."""
    if take.is_elsewhere:
        return named(take)
    shared = sum(each.number == take.number and not each.is_elsewhere for each in labels) > 1
    return f"take {take.number}" + (f" of {take.session or 'no session'}" if shared else "")


def bar_map_marks(rows: Sequence[BarMapRow]) -> list[str]:
    """What the marks that occur in a bar map mean, whichever its takes are."""
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
    return key
