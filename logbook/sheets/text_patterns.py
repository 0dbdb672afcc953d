"""Picking-hand patterns as text: the strokes under their count."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.sheets.lines import BAD, FAINT, LABEL, NAME, Line, padded, plain, widest, wrapped
from logbook.sheets.looks import Look
from logbook.sheets.patterns import PatternCard

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
    else:
        lines += _strokes(card, look.width)
    lines += [plain(_INDENT + row) for row in wrapped(card.said, look.width - 2)]
    return lines


def _strokes(card: PatternCard, width: int) -> list[Line]:
    """A count line and a stroke line for each row of bars; a bar too wide is cut at a beat."""
    texts = [text for bar in card.bars for text in (*bar.counts, *bar.strokes)]
    cell = widest(texts) + 1
    fits = _whole_beats(card.bars[0].counts, max((width - len(_INDENT)) // cell, 1))
    pieces = [
        (bar.counts[at : at + fits], bar.strokes[at : at + fits])
        for bar in card.bars
        for at in range(0, len(bar.counts), fits)
    ]
    rows: list[list[tuple[str, str]]] = []
    for counts, strokes in pieces:
        count_text = "".join(padded(text, cell) for text in counts).rstrip()
        stroke_text = "".join(padded(text, cell) for text in strokes).rstrip()
        wide = max(len(count_text), len(stroke_text))
        pair = (padded(count_text, wide), padded(stroke_text, wide))
        used = sum(len(each[0]) + len(_BAR_LINE) for each in rows[-1]) if rows else 0
        if rows and len(_INDENT) + used + wide <= width:
            rows[-1].append(pair)
        else:
            rows.append([pair])
    lines: list[Line] = []
    for row in rows:
        lines.append(plain(_INDENT + _BAR_LINE.join(counts for counts, _ in row), LABEL))
        lines.append(plain(_INDENT + _BAR_LINE.join(strokes for _, strokes in row)))
    return lines


def _whole_beats(counts: Sequence[str], fits: int) -> int:
    """How many steps of a bar to put in a row that has room for `fits`, beats kept whole."""
    if fits >= len(counts):
        return len(counts)
    beats = [step for step, text in enumerate(counts) if text.isdecimal() and step <= fits]
    return max(beats) or fits
