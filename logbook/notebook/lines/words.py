"""The small words of the grammar: clauses, places in the form, names, days, numbers.

Conventions. A place in the form is bars ("1-16", "12", "12.3-14"), a section's name ("B", every
one of that name), a section by its count ("B2", "chorus 2": the second one), or a bar of a
section ("B.2", "B2.3"). A section whose own name ends in a number goes first.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

from logbook.errors import LogbookError
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.where import Where
from logbook.records import FormSection
from logbook.theory.symbols import read_symbol
from logbook.timing.bars import BarPoint, BarRange, bars, parse_point, parse_range

NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_RANGE = re.compile(
    r"[0-9]{1,4}(?:\.[0-9]{1,3}(?:\+[0-9]+/[0-9]+)?)?"
    r"(?:-[0-9]+(?:\.[0-9]{1,3}(?:\+[0-9]+/[0-9]+)?)?)?"  # a last bar too high is told, not kept
)
_POINT = re.compile(r"[0-9]{1,4}\.[0-9]{1,3}(?:\+[0-9]+/[0-9]+)?")
_BAR_WORD = re.compile(r"bars?\s*(?=[0-9])", re.I)
_NTH = re.compile(r"(?P<name>.*?\S)\s*(?P<nth>[0-9]+)(?:\.(?P<bar>[0-9]+))?")
_BAR_OF = re.compile(r"(?P<name>.*?\S)\.(?P<bar>[0-9]+)")


def plain_line(text: str) -> str:
    """A line as the grammar takes it: plain dashes, quotes and blanks, without a bullet."""
    line = unicodedata.normalize("NFC", text)
    for several, one in (("–—‒−", "-"), ("“”„", '"'), ("’‘", "'"), ("\u00a0\u2009\u202f\t", " ")):
        line = re.sub(f"[{several}]", one, line)
    return re.sub(r"^(?:[*•]|-(?=\s))\s*", "", " ".join(line.split()))


def clauses(text: str) -> list[str]:
    """The pieces between commas; a comma without a blank after it parts nothing."""
    return [each.strip() for each in re.split(r",\s+|,$", text) if each.strip()]


def listed(text: str) -> list[str]:
    """The pieces between commas, "and" or "+"."""
    return [each.strip() for each in re.split(r"\s*(?:,|\+|&|\band\b)\s*", text) if each.strip()]


def number_of(word: str) -> int | None:
    """A whole number in figures or as a word up to ten."""
    if word.isascii() and word.isdecimal() and len(word) < 7:
        return int(word)
    return NUMBERS.index(word.lower()) + 1 if word.lower() in NUMBERS else None


def is_chord(word: str) -> bool:
    """Whether a word reads as a chord symbol."""
    try:
        read_symbol(word)
    except LogbookError:
        return False
    return True


def one_named(name: str, known: Iterable[str]) -> str | None:
    """The one of the known names that is meant: exactly, by its words, or by their beginnings.

    "cedar" means "the cedar one" where nothing else has the word. None where none or several are.
    """
    names = list(dict.fromkeys(known))
    if name in names:
        return name
    wanted = fold(name)
    same = [each for each in names if fold(each) == wanted]
    if len(same) == 1:
        return same[0]
    words = [word for word in wanted.split() if word not in ("the", "one", "a", "my", "our")]
    if not words:
        return None
    for begins in (False, True):
        fitting = [each for each in names if _has(fold(each).split(), words, begins=begins)]
        if len(fitting) == 1 and (not begins or min(map(len, words)) >= 3):
            return fitting[0]
        if fitting:
            return None
    return None


def _has(own: list[str], words: list[str], *, begins: bool) -> bool:
    if begins:
        return all(any(each.startswith(word) for each in own) for word in words)
    return all(word in own for word in words)


# Places in the form


def is_bars(text: str) -> bool:
    """Whether a text is bars in figures."""
    return bool(_RANGE.fullmatch(_BAR_WORD.sub("", text)))


def place_text(text: str, where: Where) -> str | None:
    """A place in the form as it is kept: bars plainly, a section by its own name; None for none."""
    body = _BAR_WORD.sub("", text.strip())
    if _RANGE.fullmatch(body):
        return str(parse_range(body)) if "." not in body or "-" in body else None
    if fold(body) in ("all", "whole", "whole form", "all of it", "top to bottom"):
        return str(where.whole) if where.whole else None
    return section_text(body, where.form)


def section_text(text: str, form: Sequence[FormSection]) -> str | None:
    """A section as it is kept ("B", "B2", "B.2"), None where the form has none of that name."""
    if _named(text, form):
        return _named(text, form)[0].name
    if (found := _BAR_OF.fullmatch(text)) and _ranges(text, form):
        name = section_text(found["name"], form)
        return f"{name}.{int(found['bar'])}"
    if (found := _NTH.fullmatch(text)) and _ranges(text, form):
        return f"{_named(found['name'], form)[0].name}{' ' * (' ' in found['name'])}{found['nth']}"
    return None


def ranges_of(place: str, where: Where) -> list[BarRange]:
    """The bars of a place: every section of that name, or the one stretch that is meant.

    Raises LogbookError where the form has no such place.
    """
    if is_bars(place):
        return [parse_range(_BAR_WORD.sub("", place))]
    found = _ranges(place, where.form)
    if not found:
        names = ", ".join(where.section_names[:8])
        raise LogbookError(
            f"no section is called {place}",
            f"the form has {names}" if names else "give the form first, as in A 8 bars, B 8 bars",
        )
    return found


def words_start(place: str, where: Where) -> BarPoint:
    """Where a line of words begins: a bar, a bar and beat ("9.3"), or where a section does."""
    return parse_point(place) if _POINT.fullmatch(place) else ranges_of(place, where)[0].start


def words_place(text: str, where: Where) -> str | None:
    """A place for a line of words as it is kept, None for none; "9.3" is bar 9, beat 3."""
    body = _BAR_WORD.sub("", text.strip())
    return str(parse_point(body)) if _POINT.fullmatch(body) else place_text(text, where)


def first_meant(place: str, found: Sequence[BarRange]) -> str:
    """What to say where a section comes several times and one stretch is meant: the first."""
    gap = " " * (len(place) > 1)
    others = ", ".join(f"{place}{gap}{n} is {each}" for n, each in enumerate(found[1:], 2))
    through = BarRange(found[0].start, found[-1].end)
    return (
        f"{place} comes {_times(len(found))}: taken as the first, bars {found[0]} ({others}; write"
        f" that, or {through} for a pass through all of it)"
    )


def _times(count: int) -> str:
    return "twice" if count == 2 else f"{count} times"


def _ranges(text: str, form: Sequence[FormSection]) -> list[BarRange]:
    if same := _named(text, form):
        return [bars(each.start, each.start + each.bars - 1) for each in same]
    if found := _BAR_OF.fullmatch(text):
        number = int(found["bar"])
        inside = [each for each in _ranges(found["name"], form) if number <= len(each.bars)]
        return [bars(each.start.bar + number - 1) for each in inside] if number else []
    if found := _NTH.fullmatch(text):
        same, nth = _named(found["name"], form), int(found["nth"])
        if 1 <= nth <= len(same):
            only = same[nth - 1]
            return [bars(only.start, only.start + only.bars - 1)]
    return []


def _named(text: str, form: Sequence[FormSection]) -> list[FormSection]:
    same = [each for each in form if each.name == text]
    return same or [each for each in form if fold(each.name) == fold(text)]
