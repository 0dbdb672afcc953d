"""Chords one at a time, moves and road maps as text.

A chord to learn stands on the left with its diagram, and what there is to say beside it; on a
narrow page below it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import zip_longest

from logbook.sheets.blocks import Block, NeckMoves, RoadMap, Study
from logbook.sheets.lines import (
    FAINT,
    LABEL,
    NAME,
    Line,
    cell_len,
    line_text,
    padded,
    plain,
    widest,
    wrapped,
)
from logbook.sheets.looks import Look
from logbook.sheets.signs import with_signs
from logbook.sheets.text_chords import card_lines

_GAP = 3
_LEAST_BESIDE = 40
Drawing = Callable[[Block, Look], list[Line]]


def study_lines(block: Study, look: Look, draw: Drawing) -> list[Line]:
    """Return one chord under its title; `draw` draws the blocks beside it."""
    lines: list[Line] = [plain(row, NAME) for row in wrapped(block.title, look.width)]
    if block.aside:
        lines += [plain(row, FAINT) for row in wrapped(block.aside, look.width, "  ")]
    diagram = card_lines(block.card, look, bare=True)
    wide = widest(diagram)
    room = look.width - wide - _GAP
    if room < _LEAST_BESIDE:
        return [*lines, *map(plain, diagram), *_beside(block.beside, look, draw)]
    beside = _beside(block.beside, look._replace(width=room), draw)
    for left, right in zip_longest(diagram, beside, fillvalue=None):
        start = padded(left or "", wide + _GAP)
        lines.append(((start, ""), *(right or ())))
    return lines


def _beside(blocks: Sequence[Block], look: Look, draw: Drawing) -> list[Line]:
    lines: list[Line] = []
    for block in blocks:
        drawn = draw(block, look)
        if lines and drawn:
            lines.append(())
        lines += drawn
    return lines


def moves_lines(block: NeckMoves, look: Look) -> list[Line]:
    """Return each change in words, and the lines of notes through a section."""
    lines: list[Line] = []
    if block.section:
        where = f", bars {block.bars}" if block.bars else ""
        lines.append(((block.section, NAME), (where, FAINT)))
    for move in block.moves:
        names = with_signs(f"{move.before.concert} to {move.after.concert}")
        lines.append(((names, NAME), (f", {move.at}", FAINT)))
        lines += [plain(f"  {row}") for row in wrapped(move.said, look.width - 2)]
    width = widest(label for label, _ in block.lines) + 2
    for label, text in block.lines:
        first = padded(label, width)
        for row in wrapped(text, look.width - width - 2):
            lines.append((("  " + first, LABEL), (row, "")))
            first = " " * width
    return lines


def road_lines(block: RoadMap, look: Look) -> list[Line]:
    """Return the form as a road map: a row for each stop, and what is said of it under it."""
    names = [f"{stop.name} {stop.length}".strip() for stop in block.stops]
    wide = min(max(widest(names), 8), max(look.width // 3, 8))
    lines: list[Line] = []
    for stop, name in zip(block.stops, names, strict=True):
        where = ", ".join(filter(None, (stop.bars, stop.starts_at and f"at {stop.starts_at}")))
        head = f"[ {padded(name, wide)} ]"
        said = "; ".join(filter(None, (where, stop.how)))
        room = look.width - cell_len(head) - 1
        for number, row in enumerate(wrapped(said, room) or [""]):
            begin = head if number == 0 else " " * cell_len(head)
            lines.append(((begin, NAME), (f" {row}".rstrip(), FAINT)))
        lines += [plain("    " + row) for row in wrapped(stop.said, look.width - 4)]
    return [line for line in lines if line_text(line)]
