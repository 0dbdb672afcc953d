"""What is sung: a version's words, line by line, each with the place where it begins."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from logbook.records.fields import needed, noted, written


@dataclass(frozen=True, kw_only=True)
class Lyric:
    """A line of the words: its first syllable falls on `beat` (from 1, "5/2") of `bar`.

    A line lasts until the next one; nobody has to say where it ends.
    """

    bar: int = field(metadata=needed("the bar it begins in", "9", "_lyric_bar"))
    beat: str = written("1", "which beat of it", "3", "_lyric_beat")
    text: str = field(metadata=needed("the words", "the tide comes in", "name"))
    notes: str = noted()


def in_order(lyrics: Iterable[Lyric]) -> tuple[Lyric, ...]:
    """Return lines in the order in which they are sung."""
    return tuple(sorted(lyrics, key=lambda each: (each.bar, Fraction(each.beat))))


def moved_words(
    lyrics: Iterable[Lyric], place: Callable[[int], int | None], told: list[str]
) -> tuple[Lyric, ...]:
    """Return lines in the bars they are in now; `place` gives an old bar's new one, None if gone.

    What went with its bar is added to `told`, a sentence each.
    """
    moved = []
    for line in lyrics:
        bar = place(line.bar)
        if bar is None:
            told.append(f"the words {line.text!r} went with bar {line.bar}")
        else:
            moved.append(replace(line, bar=bar))
    return in_order(moved)
