"""A tune as people type it: notes and rests one after the other, with their lengths.

    E4/8 F# G A/4. r/8 | B4/2~ | B4/4 A

* A note is its letter with signs and octave, middle C being C4. A note without an octave is the
  one nearest to the note before it (common practice of singing from letters, no source).
* After "/" stands its length: 1 a whole note, 2 a half, 4 a quarter, 8, 16, 32, 64; a dot makes it
  half as long again, a "t" a triplet note, a "+" adds: 4., 8t, 2+8. A length holds for the notes
  after it until another is said; the first one is a quarter where none is said. "=" says any other
  part of a whole note: C5=5/48.
* `r` is a rest, `|` a bar line (for the eye, and to be held against the meter), and `~` after a
  note holds it into the next one, which is the same note.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.notes import read_note
from logbook.theory.pitch import name_to_midi

BAR_LINE = "|"
REST = "r"
FIRST_LENGTH = Fraction(1, 4)
_LONGEST = Fraction(64)
_FORM = "write notes with their lengths, as in E4/8 F#4 G4/4 r | A4/2"
_LENGTH = re.compile(r"(?P<value>1|2|4|8|16|32|64)(?P<more>\.{0,2}|t)")
_PLAIN = {Fraction(1, value): str(value) for value in (1, 2, 4, 8, 16, 32, 64)}
_NAMED = {
    **_PLAIN,
    **{length * 3 / 2: f"{text}." for length, text in _PLAIN.items()},
    **{length * 2 / 3: f"{text}t" for length, text in _PLAIN.items() if text != "1"},
}


class TuneNote(NamedTuple):
    """A note or rest: its name with octave ("" for a rest), its length in whole notes.

    `tied` says that it is held into the next one. A bar line is "|" and has no length.
    """

    name: str
    length: Fraction
    tied: bool = False

    @property
    def is_bar_line(self) -> bool:
        """Whether it is a bar line."""
        return self.name == BAR_LINE

    @property
    def midi(self) -> int | None:
        """Its note number, None for a rest or a bar line."""
        return None if self.name in ("", BAR_LINE) else name_to_midi(self.name)


def read_tune(text: str) -> tuple[TuneNote, ...]:
    """Read a tune; every note comes back with its octave. Raises LogbookError for what is none."""
    length, before = FIRST_LENGTH, ""
    found: list[TuneNote] = []
    words = re.sub(r"\|+", " | ", text.replace("♭", "b").replace("♯", "#")).split()
    for word in words:
        if word == BAR_LINE:
            found.append(TuneNote(BAR_LINE, Fraction(0)))
            continue
        tied = word.endswith("~")
        body = word.rstrip("~")
        said, length = _length(body, length)
        if said.casefold() in (REST, "-"):
            if tied:
                raise LogbookError("a rest cannot be held into the next note", "leave out its ~")
            found.append(TuneNote("", length))
            continue
        before = _named(said, before, word)
        found.append(TuneNote(before, length, tied))
    sounding = [each for each in found if not each.is_bar_line]
    if not any(each.name for each in sounding):
        raise LogbookError("there is no note in the tune", _FORM)
    for one, after in pairwise(sounding):
        if one.tied and one.midi != after.midi:
            then = after.name or "a rest"
            raise LogbookError(
                f"{one.name} is held into {then}, which is not the same note",
                "leave out its ~, or write the same note after it",
            )
    if sum(each.length for each in sounding) > 64 * _LONGEST:
        raise LogbookError("the tune is longer than any song", "write it in several lines")
    return tuple(found)


def _length(word: str, before: Fraction) -> tuple[str, Fraction]:
    """Part a note from its length."""
    if "=" in word:
        said, _, text = word.partition("=")
        if not re.fullmatch(r"[0-9]{1,4}/[1-9][0-9]{0,3}", text) or not Fraction(text):
            raise LogbookError(f"'{text}' is not a part of a whole note", "write it as in C5=5/48")
        return said, _sane(Fraction(text), word)
    said, slash, text = word.partition("/")
    if not slash:
        return said, before
    lengths = []
    for each in text.split("+"):
        if (found := _LENGTH.fullmatch(each)) is None:
            raise LogbookError(
                f"'{text}' in {word} is not the length of a note",
                "write 1, 2, 4, 8 or 16, with a dot or a t for a triplet, as in 4. or 8t",
            )
        plain, more = Fraction(1, int(found["value"])), found["more"]
        factor = {"": Fraction(1), ".": Fraction(3, 2), "..": Fraction(7, 4)}
        lengths.append(plain * factor.get(more, Fraction(2, 3)))
    return said, _sane(sum(lengths, Fraction(0)), word)


def _sane(length: Fraction, word: str) -> Fraction:
    if length > _LONGEST:
        raise LogbookError(f"{word} is longer than any song", "write a shorter note")
    return length


def _named(said: str, before: str, word: str) -> str:
    """A note with its octave: the one that is said, else the nearest to the note before."""
    read = read_note(said)
    if read is None:
        raise LogbookError(f"'{word[:30]}' is not a note", _FORM)
    name = said[0].upper() + said[1 : read.end]
    if said[read.end :]:
        name_to_midi(said)  # which says what is wrong with it
        return name + said[read.end :].replace("−", "-")
    if not before:
        raise LogbookError(
            f"the first note {said} has no octave", "write it as in C4, which is middle C"
        )
    near = name_to_midi(before)
    places = [f"{name}{octave}" for octave in range(-1, 10) if _in_range(f"{name}{octave}")]
    return min(places, key=lambda each: (abs(name_to_midi(each) - near), name_to_midi(each)))


def _in_range(name: str) -> bool:
    try:
        name_to_midi(name)
    except LogbookError:
        return False
    return True


def tune_text(notes: Iterable[TuneNote]) -> str:
    """Write a tune so that it reads back the same: octaves always, lengths where they change."""
    length: Fraction | None = None
    words = []
    for each in notes:
        if each.is_bar_line:
            words.append(BAR_LINE)
            continue
        said = "" if each.length == length else length_text(each.length)
        length = each.length
        words.append(f"{each.name or REST}{said}{'~' if each.tied else ''}")
    return " ".join(words)


def length_text(length: Fraction) -> str:
    """A length as it stands behind a note: "/8", "/4.", "/2+8", "=5/48"."""
    parts: list[str] = []
    left = length
    for value in sorted(_NAMED, reverse=True):
        while value <= left and len(parts) < 6:
            parts.append(_NAMED[value])
            left -= value
    if left or len(parts) > 3:
        return f"={length.numerator}/{length.denominator}"
    return "/" + "+".join(parts)


def length_of(notes: Iterable[TuneNote]) -> Fraction:
    """How long a tune is, in whole notes."""
    return sum((each.length for each in notes), Fraction(0))


def bar_lines(notes: Sequence[TuneNote]) -> Iterator[tuple[Fraction, str]]:
    """Where each bar line stands, in whole notes from the first note, and the note before it."""
    at, before = Fraction(0), ""
    for each in notes:
        if each.is_bar_line:
            yield at, before
        at += each.length
        before = each.name or "the rest" if not each.is_bar_line else before


def moved_names(notes: Iterable[TuneNote], names: Iterable[str]) -> tuple[TuneNote, ...]:
    """The same tune with other notes: `names` for its notes in order, rests and bar lines kept."""
    new = iter(names)
    return tuple(
        each._replace(name=next(new)) if each.name not in ("", BAR_LINE) else each for each in notes
    )
