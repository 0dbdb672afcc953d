"""A written chord name judged against the notes that sound.

Five words: exact; leaves out (notes the name claims do not sound, usually the fifth); adds (notes
sound that the name does not claim); contradicts (a note sounds in the place of a claimed one, or
another bass than the slash says); shape name (the name fits the frets as if there were no capo,
and not what sounds). An inversion written without its slash is still exact: the notes are.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.degrees import degree_in_chord, degree_note
from logbook.theory.keys import Key
from logbook.theory.names import name_chord
from logbook.theory.symbols import read_symbol

EXACT = "exact"
LEAVES_OUT = "leaves out"
ADDS = "adds"
CONTRADICTS = "contradicts"
SHAPE_NAME = "shape name"

# Intervals that cannot stand beside a claimed degree of the same family without contradicting it.
_RIVALS = {
    "b3": (4, 5), "3": (3, 5), "4": (3, 4), "2": (3, 4), "b5": (7, 8), "5": (6, 8), "#5": (6, 7),
    "b7": (11,), "7": (10,), "bb7": (10, 11), "6": (8, 10, 11), "b9": (2, 3), "9": (1, 3),
    "#9": (1, 2), "11": (6,), "#11": (5,), "b13": (9,), "13": (8,), "b6": (9, 10, 11),
}  # fmt: skip


class Verdict(NamedTuple):
    """What a written name is against the notes: one of the five words, and a sentence.

    `missing` are the degrees claimed that do not sound, `extra` the degrees that sound unclaimed.
    `concert` is the best name of what sounds, where the written name is not exact.
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
    key: str | Key | None = None,
    bass_counts: bool | None = None,
) -> Verdict:
    """Judge a written name against sounding note numbers (concert pitch).

    `shape_midi` are the notes the same frets would sound with no capo; with them a shape name
    written as a concert name is told apart. `key` spells the concert name given in the sentence;
    `bass_counts` is as in `name_chord`: where the lowest note is no bass, no slash is held
    against it.
    Raises ChordSymbolError when the name cannot be read.
    """
    symbol = read_symbol(written)
    counts = bass_counts
    if counts is None:
        counts = not midi or midi[0] == min(midi)
    verdict = _against(symbol, midi, counts)
    if verdict.word == EXACT:
        return verdict
    concert = name_chord(midi, key=key, bass_counts=bass_counts)[0].symbol if midi else None
    shape = _shape_name(symbol, verdict, shape_midi, counts) if shape_midi and symbol.root else None
    if shape is not None:
        is_name = "is the shape name" if shape == symbol.symbol else f"names the shape ({shape})"
        sentence = f"{symbol.symbol} {is_name}, not the concert name: what sounds is {concert}"
        return Verdict(SHAPE_NAME, sentence, verdict.missing, verdict.extra, concert)
    sentence = verdict.sentence
    if verdict.word == CONTRADICTS and concert is not None:
        sentence += f"; what sounds is {concert}"
    return verdict._replace(concert=concert, sentence=sentence)


def _shape_name(
    symbol: ChordSymbol, concert: Verdict, shape_midi: Sequence[int], counts: bool
) -> str | None:
    """The name of the shape where the written name fits it, and better than what sounds."""
    shape = _against(symbol, shape_midi, counts)
    if shape.word == EXACT:
        return symbol.symbol
    if concert.word != CONTRADICTS or shape.word == CONTRADICTS:
        return None
    best = name_chord(shape_midi, bass_counts=counts)[0]
    if best.root != symbol.root_pc:
        return None
    return symbol.symbol if best.intervals == symbol.intervals else best.symbol


def _against(symbol: ChordSymbol, midi: Sequence[int], bass_counts: bool) -> Verdict:
    if symbol.root_pc is None:
        if midi:
            return Verdict(CONTRADICTS, "N.C. says that no chord sounds, and notes do")
        return Verdict(EXACT, "N.C.: no chord is named and none sounds")
    if not midi:
        return Verdict(LEAVES_OUT, f"{symbol.symbol} leaves out every note", symbol.degrees)
    low = min(midi) % 12
    above = {(note - symbol.root_pc) % 12 for note in midi}
    extra = above - symbol.intervals
    if symbol.bass is not None:
        extra.discard(((symbol.bass_pc or 0) - symbol.root_pc) % 12)
    missing = _degrees(symbol, symbol.intervals - above)
    added = _degrees(symbol, frozenset(extra))
    if bass_counts and symbol.bass is not None and low != symbol.bass_pc:
        lowest = degree_note(symbol.root, degree_in_chord(low - symbol.root_pc, symbol.degrees))
        sentence = f"{symbol.symbol} puts {symbol.bass} in the bass, and {lowest} sounds lowest"
        return Verdict(CONTRADICTS, sentence, missing, added)
    if not missing and not added:
        inverted = _inversion(symbol, low) if bass_counts else ""
        return Verdict(EXACT, f"{symbol.symbol} is exactly what sounds{inverted}")
    return _differing(symbol, missing, added)


def _differing(symbol: ChordSymbol, missing: tuple[str, ...], extra: tuple[str, ...]) -> Verdict:
    name = symbol.symbol
    left, more = _listed(symbol, missing), _listed(symbol, extra)
    if not extra:
        return Verdict(LEAVES_OUT, f"{name} leaves out {left}", missing)
    if _contradicts(symbol, missing, extra):
        without = f"{left} {'is' if len(missing) == 1 else 'are'} missing and " if missing else ""
        sound = "sounds" if len(extra) == 1 else "sound"
        sentence = f"{name} does not match the notes: {without}{more} {sound}"
        return Verdict(CONTRADICTS, sentence, missing, extra)
    also = f" and leaves out {left}" if missing else ""
    return Verdict(ADDS, f"what sounds adds {more} to {name}{also}", missing, extra)


def _contradicts(symbol: ChordSymbol, missing: tuple[str, ...], extra: tuple[str, ...]) -> bool:
    """A rival stands in a missing degree's place, or what tells the chord is gone."""
    extra_semitones = {
        interval for interval in range(12) if degree_in_chord(interval, symbol.degrees) in extra
    }
    if {"R", "3", "b3"} & set(missing) or ("b3" in symbol.degrees and 4 in extra_semitones):
        return True
    return any(set(_RIVALS.get(degree, ())) & extra_semitones for degree in missing)


def _degrees(symbol: ChordSymbol, intervals: frozenset[int]) -> tuple[str, ...]:
    return tuple(degree_in_chord(interval, symbol.degrees) for interval in sorted(intervals))


def _listed(symbol: ChordSymbol, degrees: tuple[str, ...]) -> str:
    said = [
        f"{degree_note(symbol.root, degree)} (the {'root' if degree == 'R' else degree})"
        for degree in degrees
    ]
    return " and ".join(said) if len(said) < 3 else ", ".join(said[:-1]) + " and " + said[-1]


def _inversion(symbol: ChordSymbol, low: int) -> str:
    if low == symbol.bass_pc or symbol.root_pc is None:
        return ""
    degree = degree_in_chord(low - symbol.root_pc, symbol.degrees)
    return f", with {degree_note(symbol.root, degree)} (the {degree}) lowest"
