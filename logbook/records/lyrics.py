"""What is sung: a version's words, line by line, each with the place where it begins."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Protocol

from logbook.records.fields import needed, noted, written


class SectionLike(Protocol):
    """A section of a form, as far as words stand in it."""

    @property
    def name(self) -> str:
        """What it is called."""

    @property
    def start(self) -> int:
        """Its first bar."""

    @property
    def bars(self) -> int:
        """Its length in bars."""


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


def words_for(
    lyrics: Iterable[Lyric], old: Iterable[SectionLike], new: Iterable[SectionLike]
) -> tuple[tuple[Lyric, ...], tuple[Lyric, ...]]:
    """Return lines as they stand in another form, and those that have no place there.

    A section is known again by its name and its count among those of its name. Outside the form,
    and where the other has none, lines keep their bars.
    """
    sections, there = _counted(old), dict(_counted(new))
    placed, lost = [], []
    for line in in_order(lyrics):
        home = next((e for e in sections if e[1].start <= line.bar < e[1].start + e[1].bars), None)
        if home is None or not there:
            placed.append(line)
            continue
        now, offset = there.get(home[0]), line.bar - home[1].start
        if now is None or offset >= now.bars:
            lost.append(line)
        else:
            placed.append(replace(line, bar=now.start + offset))
    return in_order(placed), tuple(lost)


def _counted(form: Iterable[SectionLike]) -> list[tuple[tuple[str, int], SectionLike]]:
    met: dict[str, int] = {}
    counted = []
    for each in sorted(form, key=lambda section: section.start):
        name = each.name.casefold()
        met[name] = met.get(name, 0) + 1
        counted.append(((name, met[name]), each))
    return counted
