"""Instruments without frets: how they are written, and from which note to which they reach.

Ranges are sounding pitches, lowest and highest, that a working player can be asked for;
transpositions are semitones, written minus sounding. The figures are in common practice (no
source).
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.pitch import name_to_midi


class Compass(NamedTuple):
    """A kind of instrument: `low` and `high` its sounding range, `transposition` in semitones."""

    kind: str
    low: str
    high: str
    transposition: int = 0

    @property
    def midi(self) -> tuple[int, int]:
        """The lowest and the highest note as note numbers."""
        return name_to_midi(self.low), name_to_midi(self.high)


_KNOWN = (
    Compass("piano", "A0", "C8"),
    Compass("electric piano", "E1", "E7"),
    Compass("organ", "C1", "C7"),
    Compass("harpsichord", "F1", "F6"),
    Compass("clavi", "F1", "E6"),
    Compass("accordion", "E1", "A6"),
    Compass("celesta", "C4", "C8", -12),
    Compass("vibraphone", "F3", "F6"),
    Compass("marimba", "C2", "C7"),
    Compass("glockenspiel", "G5", "C8", -24),
    Compass("harp", "B0", "G7"),
    Compass("piccolo", "D5", "C8", -12),
    Compass("flute", "B3", "F7"),
    Compass("alto flute", "G3", "G6", 5),
    Compass("oboe", "Bb3", "A6"),
    Compass("cor anglais", "E3", "C6", 7),
    Compass("clarinet", "D3", "Bb6", 2),
    Compass("a clarinet", "C#3", "A6", 3),
    Compass("e-flat clarinet", "G3", "C7", -3),
    Compass("bass clarinet", "Bb1", "B5", 14),
    Compass("bassoon", "Bb1", "E5"),
    Compass("soprano saxophone", "Ab3", "E6", 2),
    Compass("alto saxophone", "Db3", "A5", 9),
    Compass("tenor saxophone", "Ab2", "E5", 14),
    Compass("baritone saxophone", "C2", "A4", 21),
    Compass("trumpet", "E3", "D6", 2),
    Compass("cornet", "E3", "C6", 2),
    Compass("flugelhorn", "E3", "Bb5", 2),
    Compass("horn", "B1", "F5", 7),
    Compass("trombone", "E2", "F5"),
    Compass("bass trombone", "B0", "Bb4"),
    Compass("euphonium", "E2", "Bb4"),
    Compass("tuba", "D1", "F4"),
    Compass("violin", "G3", "A7"),
    Compass("viola", "C3", "E6"),
    Compass("cello", "C2", "C6"),
    Compass("double bass", "E1", "G4", 12),
    Compass("harmonica", "C4", "C7"),
    Compass("recorder", "F3", "D7"),
    Compass("whistle", "D5", "D7", -12),
)
KNOWN = {each.kind: each for each in _KNOWN}
_OTHER_WORDS = {
    "keys": "piano", "grand piano": "piano", "upright piano": "piano", "fiddle": "violin",
    "french horn": "horn", "english horn": "cor anglais", "upright bass": "double bass",
    "alto sax": "alto saxophone", "tenor sax": "tenor saxophone", "bb clarinet": "clarinet",
    "soprano sax": "soprano saxophone", "baritone sax": "baritone saxophone",
    "bari sax": "baritone saxophone", "b-flat clarinet": "clarinet", "vibes": "vibraphone",
    "eb clarinet": "e-flat clarinet", "violoncello": "cello", "bb trumpet": "trumpet",
    "b-flat trumpet": "trumpet", "tin whistle": "whistle", "contrabass": "double bass",
}  # fmt: skip


_KEYED = frozenset(
    ("piano", "electric piano", "organ", "harpsichord", "clavi", "celesta", "marimba", "harp")
)


def is_keyed(kind: str) -> bool:
    """Whether a kind of instrument is written on two staves (keys, harp, marimba)."""
    known = compass_of(kind)
    return known is not None and known.kind in _KEYED


def compass_of(kind: str) -> Compass | None:
    """Return what is known of a kind of instrument, None for any other."""
    plain = " ".join(kind.casefold().split())
    return KNOWN.get(_OTHER_WORDS.get(plain, plain))


def reach_said(compass: Compass) -> str:
    """How far an instrument reaches: "an oboe sounds from Bb3 to A6"."""
    article = "an" if compass.kind[0] in "aeiou" else "a"
    return f"{article} {compass.kind} sounds from {compass.low} to {compass.high}"


def read_notes(text: str) -> tuple[tuple[str, int], ...]:
    """Read notes with their octaves, "C3 G3 Bb3": each as it is written, and its number.

    Names come back in one spelling ("Bb3"). Raises LogbookError for what is no note, and for none.
    """
    words = text.replace(",", " ").replace("♭", "b").replace("♯", "#").split()
    if not words:
        raise LogbookError("no notes are said", "write them low to high, as in C3 G3 Bb3 Eb4")
    return tuple((word[0].upper() + word[1:], name_to_midi(word)) for word in words)


def looks_like_notes(text: str) -> bool:
    """Whether all of a text is notes with their octaves."""
    try:
        return bool(read_notes(text))
    except LogbookError:
        return False


def moved_note(name: str, semitones: int) -> str:
    """Return a note so many semitones higher, its letter moved with it: ("F#4", 2) -> "G#4"."""
    from logbook.theory.notes import fifths_to_name, name_to_fifths, read_note
    from logbook.theory.pitch import octave_of

    read = read_note(name)
    assert read is not None
    steps = semitones % 12
    by_fifths = steps * 7 % 12
    if by_fifths > 6:
        by_fifths -= 12
    fifths = name_to_fifths(name[: read.end]) + by_fifths
    # No more signs than a reader wants: a double one is spelled by its neighbour.
    fifths += 12 if fifths < -7 else -12 if fifths > 10 else 0
    letter = fifths_to_name(fifths)
    midi = name_to_midi(name) + semitones
    return letter + str(octave_of(midi, letter))
