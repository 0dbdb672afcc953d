"""Note names and the line of fifths.

A note name is a letter and its accidentals, printed in ASCII: `b`, `#`, doubled where needed.
Its place on the line of fifths (... Eb Bb F C G D A E B F# C# ..., C = 0) holds letter and
accidental in one integer: one sharp is +7, a pitch class is 7 n mod 12. A chord degree is an offset
on the same line, so a note spelled from its root is one addition. (Common practice.)
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError

LETTERS_BY_FIFTHS = "FCGDAEB"
_LETTER_FIFTHS = {letter: place - 1 for place, letter in enumerate(LETTERS_BY_FIFTHS)}
_ACCIDENTAL_FIFTHS = {"b": -7, "♭": -7, "𝄫": -14, "#": 7, "♯": 7, "x": 14, "𝄪": 14, "♮": 0}

PLAIN_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
"""The name of each pitch class where no key says otherwise."""

_MAJOR_ROOTS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_MINOR_ROOTS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")


def plain_root(pitch_class_: int, minor: bool) -> str:
    """Name of a chord's root where no key says otherwise: the side with fewer accidentals."""
    return (_MINOR_ROOTS if minor else _MAJOR_ROOTS)[pitch_class_ % 12]


class ReadNote(NamedTuple):
    """A note name read from the front of a text: its place in fifths and where it ended."""

    fifths: int
    end: int


def read_note(text: str, start: int = 0) -> ReadNote | None:
    """Read a letter and its accidentals at `start`; None if no letter A-G stands there.

    Accepts `b # ♭ ♯`, doubled or as double signs (`x` only after the letter, as in Fx). A lower
    case letter counts as a note letter; an accidental is always lower case.
    """
    letter = text[start : start + 1].upper()
    if letter not in _LETTER_FIFTHS or not letter:
        return None
    fifths, end = _LETTER_FIFTHS[letter], start + 1
    while end < len(text) and end < start + 3 and text[end] in _ACCIDENTAL_FIFTHS:
        step = _ACCIDENTAL_FIFTHS[text[end]]
        if step * (fifths - _LETTER_FIFTHS[letter]) < 0:
            break
        fifths += step
        end += 1
    return ReadNote(fifths, end)


def name_to_fifths(name: str) -> int:
    """Place of a note name on the line of fifths: "Db" -> -5.

    Raises LogbookError when the text is not exactly one note name.
    """
    read = read_note(name.strip())
    if read is None or read.end != len(name.strip()):
        german = name.strip()[:1] in ("H", "h")
        raise LogbookError(
            f"{name!r} is not a note name",
            "H is B here: write B"
            if german
            else "write a letter A to G, then b or # if needed, as in Eb",
        )
    return read.fifths


def fifths_to_name(fifths: int) -> str:
    """Name of a place on the line of fifths: -5 -> "Db", 13 -> "F##"."""
    alteration, letter = divmod(fifths + 1, 7)
    return LETTERS_BY_FIFTHS[letter] + ("#" * alteration if alteration > 0 else "b" * -alteration)


def fifths_to_pitch_class(fifths: int) -> int:
    """Pitch class 0-11 (C = 0) of a place on the line of fifths."""
    return fifths * 7 % 12


def pitch_class(note: str | int) -> int:
    """Pitch class 0-11 (C = 0) of a note name ("Eb", "F##") or of a MIDI note number."""
    return note % 12 if isinstance(note, int) else name_to_fifths(note) * 7 % 12


def nearest_fifths(pitch_class_: int, centre: float) -> int:
    """The place on the line of fifths with this pitch class, nearest to `centre`; ties go sharp."""
    base = pitch_class_ * 7 % 12
    return base + 12 * int((centre - base + 6) // 12)


def with_signs(name: str) -> str:
    """Print accidentals as ♭ and ♯ (for sheets): "Bbm7b5" -> "B♭m7♭5".

    A `b` is a flat after a note letter, after another flat, or before a digit.
    """
    out: list[str] = []
    for place, char in enumerate(name):
        before, after = name[place - 1 : place], name[place + 1 : place + 2]
        flat = char == "b" and (before in set("ABCDEFGb") or after.isdigit() or after == "b")
        out.append("♭" if flat else "♯" if char == "#" else char)
    return "".join(out)
