"""Signs of print: sharps and flats in names of chords and notes, en dashes in ranges."""

from __future__ import annotations

import re
from functools import lru_cache

_FLAT = re.compile(r"(?<=[A-G])b+|b(?=\d)")
_BETWEEN = re.compile(r"(?<=\d)-(?=\d)")

_TEMPO = re.compile(r"(?:(\d+(?:\.\d+)?(?:-\d+)?) )?([hqe])(\.?)=([\d.]+(?:>[\d.]+)?)")
_NOTES = {"q": "♩", "e": "♪"}

_AFTER = r"(?:maj|min|dim|aug|sus|add|alt|omit|no|m|M|\d|[#b](?=\d)|[()+])"
_NAME = re.compile(
    rf"(?<![\w#♯♭@.'’-])[A-G](?:##?|bb?)?{_AFTER}*(?:/[A-G](?:##?|bb?)?\d?)?(?![\w#'’]|\.\w)"
)
_DEGREE = re.compile(r"(?<![\w#/.-])bb?(?=(?:[2-79]|1[13])\b)|(?:(?<=\()|(?<=, )|(?<=the ))#(?=\d)")
_RANGE = re.compile(r"(?<![\w.:/–-])(?!\d{4}-0)(\d{1,4})-(\d{1,4})(?![\w-]|[.:]\w)")
"""Neither dates nor identifiers: nothing that goes on with another dash."""


def with_signs(name: str) -> str:
    """Return the name of a chord, key or note with ♯ and ♭: F#m7b5 is F♯m7♭5, Bb3 is B♭3."""
    return _FLAT.sub(lambda found: "♭" * len(found[0]), name).replace("#", "♯")


def bars_label(bars: str) -> str:
    """Return bars with the word before them: "bar 17", "bars 9-16", "bars 9, 17"."""
    return f"{'bar' if bars.isdecimal() else 'bars'} {bars}"


def with_dashes(text: str) -> str:
    """Return a range of bars or strings with an en dash between its numbers: 9–16."""
    return _BETWEEN.sub("–", text)


def tempo_in_print(text: str) -> str:
    """Return tempos as they are typed with the signs of print.

    "q=112" is ♩=112, "1 q=120, 7 q=104" is "♩=120, from bar 7 ♩=104", and "9-12 q=92>76" is
    "bars 9–12 ♩=92→76". A unit without a sign is named; what is no tempo is left as it is.
    """
    return ", ".join(_one_tempo(each) for each in text.split(", "))


def _one_tempo(text: str) -> str:
    found = _TEMPO.fullmatch(text)
    if not found:
        return text
    place, unit, dots, figure = found.groups()
    sign = f"{_NOTES[unit]}{dots}=" if unit in _NOTES else f"{'dotted ' * bool(dots)}half = "
    said = sign + figure.replace(">", "→")
    if not place or place == "1":
        return said
    return f"bars {with_dashes(place)} {said}" if "-" in place else f"from bar {place} {said}"


@lru_cache(maxsize=4096)  # what stands in tables comes often
def in_print(text: str) -> str:
    """Return running text in which names of chords and notes, degrees and ranges are printed so.

    Words, dates, names of files and identifiers are left as they are.
    """
    if "#" in text or "b" in text:
        text = _NAME.sub(lambda found: with_signs(found[0]), text)
        text = _DEGREE.sub(lambda found: found[0].replace("b", "♭").replace("#", "♯"), text)
    return _RANGE.sub(r"\1–\2", text) if "-" in text else text
