"""Picking-hand patterns as text: the strokes under their count."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.sheets.lines import BAD, FAINT, LABEL, NAME, Line, padded, plain, widest, wrapped
from logbook.sheets.looks import Look
from logbook.sheets.patterns import PatternBar, PatternCard

_INDENT = "  "
_BAR_LINE = " | "


def pattern_lines(cards: Sequence[PatternCard], look: Look) -> list[Line]:
    """Return the patterns one under the other, and a key to the strokes they use."""
    lines: list[Line] = []
    for card in cards:
        lines += _card(card, look)
    key: dict[str, str] = {}
    for card in cards:
        key.update(card.key)
    if key:
        said = ", ".join(f"{letter} {meaning}" for letter, meaning in key.items())
        lines += [(), *(plain(row, FAINT) for row in wrapped(said, look.width))]
    return lines


def _card(card: PatternCard, look: Look) -> list[Line]:
    told = ", ".join(filter(None, (card.meter, f"grid {card.grid}", card.feel)))
    lines: list[Line] = [((card.label, NAME), (f"  {told}", FAINT))]
    if card.problem:
        lines.append(plain(f"{_INDENT}{card.as_written}"))
        lines += [plain(f"{_INDENT}{row}", BAD) for row in wrapped(card.problem, look.width - 2)]
    elif card.kit:
        lines += _kit(card, look.width)
    else:
        lines += _strokes(card, look.width)
    lines += [plain(_INDENT + row) for row in wrapped(card.said, look.width - 2)]
    return lines


def _strokes(card: PatternCard, width: int) -> list[Line]:
    """A count line and a stroke line for each row of bars; a bar too wide is cut at a beat.

    Where the pattern is told for one chord, a third line says which strings each stroke meets.
    """
    texts = [text for bar in card.bars for text in (*bar.counts, *bar.strokes, *bar.strings)]
    cell = widest(texts) + 1
    most = max((width - len(_INDENT)) // cell, 1)
    rows: list[list[tuple[str, ...]]] = []
    for bar in card.bars:
        fits = _whole_beats(bar.counts, most)
        for at in range(0, len(bar.counts), fits):
            piece = _piece([row[at : at + fits] for row in _rows_of(bar)], cell)
            used = sum(len(each[0]) + len(_BAR_LINE) for each in rows[-1]) if rows else 0
            if rows and len(_INDENT) + used + len(piece[0]) <= width:
                rows[-1].append(piece)
            else:
                rows.append([piece])
    lines: list[Line] = []
    for pieces in rows:
        for number, across in enumerate(zip(*pieces, strict=True)):
            mark = LABEL if number == 0 else FAINT if number == 2 else ""
            lines.append(plain(_INDENT + _BAR_LINE.join(across), mark))
    return lines


def _kit(card: PatternCard, width: int) -> list[Line]:
    """A row for each piece under the count; bars beside each other as far as there is room."""
    name = widest(row for bar in card.kit for row, _ in bar.rows) + 2
    cell = widest(count for bar in card.kit for count in bar.counts) + 1
    steps = len(card.kit[0].counts)
    room = width - len(_INDENT) - name
    across = max((room + len(_BAR_LINE)) // (cell * steps + len(_BAR_LINE)), 1)
    if cell * steps > room:
        cell = 1  # counts of two letters give way before a bar does
    lines: list[Line] = []
    for at in range(0, len(card.kit), across):
        bars = card.kit[at : at + across]
        counted = _BAR_LINE.join(
            "".join(padded(count[:cell], cell) for count in bar.counts) for bar in bars
        )
        lines.append(plain((_INDENT + " " * name + counted).rstrip(), LABEL))
        for number, (piece, _) in enumerate(bars[0].rows):
            drawn = _BAR_LINE.join(
                "".join(padded(each, cell) for each in bar.rows[number][1]) for bar in bars
            )
            lines.append(plain((_INDENT + padded(piece, name) + drawn).rstrip()))
    return lines


def _rows_of(bar: PatternBar) -> list[Sequence[str]]:
    return [bar.counts, bar.strokes, *([bar.strings] if any(bar.strings) else [])]


def _piece(rows: Sequence[Sequence[str]], cell: int) -> tuple[str, ...]:
    """Rows of steps set under each other, all as wide as the widest."""
    drawn = ["".join(padded(text, cell) for text in row).rstrip() for row in rows]
    return tuple(padded(text, widest(drawn)) for text in drawn)


def _whole_beats(counts: Sequence[str], fits: int) -> int:
    """How many steps of a bar to put in a row that has room for `fits`, beats kept whole."""
    if fits >= len(counts):
        return len(counts)
    beats = [step for step, text in enumerate(counts) if text.isdecimal() and step <= fits]
    return max(beats, default=0) or fits
