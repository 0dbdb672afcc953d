"""Signs of print: sharps and flats in names of chords and notes, en dashes in ranges."""

from __future__ import annotations

import re

_FLAT = re.compile(r"(?<=[A-G])b+|b(?=\d)")
_RANGE = re.compile(r"(?<=\d)-(?=\d)")


def with_signs(name: str) -> str:
    """Return the name of a chord, key or note with ♯ and ♭: F#m7b5 is F♯m7♭5, Bb3 is B♭3."""
    return _FLAT.sub(lambda found: "♭" * len(found[0]), name).replace("#", "♯")


def with_dashes(text: str) -> str:
    """Return text with en dashes between numbers: bars 9–16."""
    return _RANGE.sub("–", text)
