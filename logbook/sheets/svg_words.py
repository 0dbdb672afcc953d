"""Words under the bars of an engraved chart: where each line of them is set.

Sizes are in points. A line of words begins where it is sung and may run on under later bars; what
would touch the one before it goes a row lower, and a verse stands below the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from logbook.sheets.charts import ChartBar
from logbook.sheets.text_chart import word_place


def word_places(
    bars: Sequence[ChartBar],
    widths: Sequence[float],
    *,
    left: float,
    right: float,
    wide: Callable[[str], float],
    into: Callable[[ChartBar, float], Callable[[float], float]],
) -> Iterator[tuple[float, str, int]]:
    """Return x, text and row (0 the highest) of the words that begin in a line of bars.

    `left` is where its first bar begins, `right` where the paper ends, `wide` a text's width,
    `into` how far into a bar of some width a place of it from 0 to 1 is.
    """
    row = 0
    for verse in sorted({sung.verse for bar in bars for sung in bar.words}):
        end, start = 0.0, left
        begun, number = False, f"{verse}. " if verse else ""
        for bar, width in zip(bars, widths, strict=True):
            here, start = start, start + width
            for sung in (each for each in bar.words if each.verse == verse):
                said, number = number + sung.text, ""
                x = here + 2 + into(bar, width)(float(word_place(bar, sung)))
                x = max(min(x, right - wide(said)), left)
                if begun and x < end:
                    row += 1
                for at, piece in enumerate(_pieces(said, right - x, wide)):
                    row += at > 0
                    yield x, piece, row
                    end = x + wide(piece) + wide("  ")
                begun = True
        row += begun


def tune_places(
    bars: Sequence[ChartBar],
    widths: Sequence[float],
    *,
    left: float,
    wide: Callable[[str], float],
) -> Iterator[tuple[float, str, int]]:
    """Return x, text and row (0 the highest) of the melody's notes, each bar's within the bar."""
    start = left
    for bar, width in zip(bars, widths, strict=True):
        if bar.tune:
            for row, piece in enumerate(_pieces(bar.tune, width - 6, wide)):
                yield start + 2, piece, row
        start += width


def word_rows(placed: Sequence[tuple[float, str, int]]) -> int:
    """Return how many rows placed words take."""
    return max((row for *_, row in placed), default=-1) + 1


def _pieces(said: str, room: float, wide: Callable[[str], float]) -> Iterator[str]:
    """Return a text in pieces that fit; a word too long for the room stands alone."""
    piece = ""
    for word in said.split():
        longer = f"{piece} {word}".strip()
        if piece and wide(longer) > room:
            yield piece
            longer = word
        piece = longer
    yield piece
