"""A written chord name judged against the notes that sound."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.theory.symbols import read_symbol

EXACT = "exact"
LEAVES_OUT = "leaves out"
ADDS = "adds"
CONTRADICTS = "contradicts"
SHAPE_NAME = "shape name"


class Verdict(NamedTuple):
    """What a written name is against the notes: one of the five words, and a sentence.

    `missing` and `extra` are note names that the symbol claims but do not sound, and that sound
    but are not claimed. `concert` is the best concert name where the written one is not exact.
    """

    word: str
    sentence: str
    missing: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()
    concert: str | None = None

    @property
    def agrees(self) -> bool:
        """True unless the name contradicts the notes or is the shape name."""
        return self.word not in (CONTRADICTS, SHAPE_NAME)


def judge(
    written: str,
    midi: Sequence[int],
    *,
    shape_midi: Sequence[int] | None = None,
    key: str | None = None,
) -> Verdict:
    """Judge a written name against sounding note numbers (concert pitch).

    `shape_midi` are the notes the same frets would sound with no capo; with them a shape name
    written as a concert name is told apart. Raises ChordSymbolError when the name cannot be read.
    """
    symbol = read_symbol(written)
    del shape_midi, key
    sounding = {note % 12 for note in midi}
    if sounding == symbol.pitch_classes:
        return Verdict(EXACT, f"{written} is exactly what sounds")
    return Verdict(CONTRADICTS, f"{written} is not what sounds")
