"""Ornaments of a voicing: hammer-ons, pull-offs, slides and their kin.

Conventions. Written as kind, string, frets, with commas between: `hammer-on 4 0-2, slide 2 3-5`.
String 1 is the highest, as players count; frets are counted the way the voicing's fret line is.
A kind may be cut short (`h`, `ham`, `pull`); a trill, hammer-on, pull-off and slide go from one
fret to another, a bend and a vibrato stand on one (`bend 2 3`).
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import MOST_FRET, read_up_to, read_whole

KINDS = ("hammer-on", "pull-off", "slide", "bend", "trill", "vibrato", "grace note")
_ON_ONE_FRET = frozenset({"bend", "vibrato"})


class Ornament(NamedTuple):
    """One ornament: on `string` (1 is the highest), from fret `start` to fret `end`.

    A bend or a vibrato stays on its fret, and `end` equals `start`.
    """

    kind: str
    string: int
    start: int
    end: int

    @property
    def text(self) -> str:
        """The ornament as a person types it."""
        frets = str(self.start) if self.kind in _ON_ONE_FRET else f"{self.start}-{self.end}"
        return f"{self.kind} {self.string} {frets}"


def read_ornaments(text: str, *, strings: int | None = None) -> tuple[Ornament, ...]:
    """Read `hammer-on 4 0-2, slide 2 3-5`; empty text is not an ornament.

    With `strings`, the instrument's number of strings, a string it has not is an error.
    Raises LogbookError naming the piece that cannot be read.
    """
    pieces = (piece.strip() for piece in text.replace(";", ",").split(","))
    return tuple(_read_one(piece, strings) for piece in pieces if piece)


def write_ornaments(ornaments: tuple[Ornament, ...]) -> str:
    """Write ornaments as `read_ornaments` reads them."""
    return ", ".join(ornament.text for ornament in ornaments)


def _read_one(piece: str, strings: int | None) -> Ornament:
    words = piece.lower().split()
    if len(words) < 3:
        raise LogbookError(
            f"'{piece}' does not say kind, string and frets", "write it as in hammer-on 4 0-2"
        )
    *kind_words, string, frets = words
    kind = _kind(" ".join(kind_words), piece)
    first, dash, last = frets.partition("-")
    if not string.isdecimal() or not first.isdecimal() or (dash and not last.isdecimal()):
        raise LogbookError(
            f"'{piece}' has no string and frets that can be read",
            "write the string's number (1 is the highest), then its frets: slide 2 3-5",
        )
    if read_whole(string) < 1 or (strings is not None and read_whole(string) > strings):
        raise LogbookError(
            f"'{piece}' is on string {string}",
            f"number the strings 1 (highest) to {strings}"
            if strings
            else "string 1 is the highest",
        )
    if kind not in _ON_ONE_FRET and (not dash or read_whole(first) == read_whole(last)):
        raise LogbookError(
            f"the {kind} in '{piece}' goes nowhere", "write both frets: hammer-on 4 0-2"
        )
    start, end = (read_up_to(MOST_FRET, fret, "fret") for fret in (first, last or first))
    _check_direction(kind, start, end, piece)
    return Ornament(kind, read_whole(string), start, end)


def _kind(written: str, piece: str) -> str:
    plain = written.replace("-", " ")
    matches = [kind for kind in KINDS if kind.replace("-", " ").startswith(plain)]
    if len(matches) != 1:
        raise LogbookError(
            f"'{written}' in '{piece}' is not an ornament", f"use {', '.join(KINDS)}"
        )
    return matches[0]


def _check_direction(kind: str, start: int, end: int, piece: str) -> None:
    if kind == "hammer-on" and end < start:
        raise LogbookError(f"the hammer-on in '{piece}' goes down", "a pull-off goes down")
    if kind == "pull-off" and end > start:
        raise LogbookError(f"the pull-off in '{piece}' goes up", "a hammer-on goes up")
