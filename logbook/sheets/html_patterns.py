"""What a page shows of the picking hand: its strokes under their count."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.sheets.blocks import Patterns
from logbook.sheets.html_cards import View
from logbook.sheets.looks import Look
from logbook.sheets.patterns import PatternCard

_SIGNS = {"D": "↓", "U": "↑", "d": "(↓)", "u": "(↑)", ".": "·"}


def patterns_view(block: Patterns, look: Look) -> View:
    """Every pattern, and what its signs mean."""
    del look
    key: dict[str, str] = {}
    for card in block.cards:
        key.update(card.key)
    return {
        "cards": [_pattern(card) for card in block.cards],
        "key": [(_SIGNS.get(letter, letter), meaning) for letter, meaning in key.items()],
    }


def _pattern(card: PatternCard) -> View:
    return {
        "name": card.label,
        "told": ", ".join(filter(None, (card.meter, f"grid {card.grid}", card.feel))),
        "bars": [_beats(bar.counts, bar.strokes, bar.strings) for bar in card.bars],
        "plain": card.as_written if card.problem else "",
        "problem": card.problem,
        "kit": [
            {
                "counts": bar.counts,
                "rows": [
                    (piece, [{"cell": each, "rests": each == "."} for each in cells])
                    for piece, cells in bar.rows
                ],
            }
            for bar in card.kit
        ],
        "said": card.said,
        "with_strings": any(any(bar.strings) for bar in card.bars),
    }


def _beats(counts: Sequence[str], strokes: Sequence[str], strings: Sequence[str]) -> list[View]:
    """The steps of a bar in groups of a beat, so that a narrow page breaks between beats."""
    beats: list[list[View]] = []
    for place, (count, stroke) in enumerate(zip(counts, strokes, strict=True)):
        if not beats or count.isdecimal():
            beats.append([])
        accent = stroke.startswith(">")
        plain = stroke.removeprefix(">")
        beats[-1].append(
            {
                "count": count,
                "stroke": _SIGNS.get(plain, plain),
                "accent": accent,
                "strings": strings[place] if strings else "",
                "rests": plain == ".",
            }
        )
    return [{"steps": steps} for steps in beats]
