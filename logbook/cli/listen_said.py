"""Bars, frets and how sure, as the commands that hear music say them."""

from __future__ import annotations

from collections.abc import Iterable


def bars_of(numbers: Iterable[int]) -> str:
    """Bar numbers as people say them: "bars 1-3 and 7"."""
    from logbook.editing.words import bars_said
    from logbook.timing.bars import bars

    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return bars_said([bars(first, last) for first, last in runs])


def sure_word(confidence: float) -> str:
    """How sure a reading is, in a word."""
    if confidence >= 0.9:
        return "sure"
    if confidence >= 0.7:
        return "fairly sure"
    return "doubtful"
