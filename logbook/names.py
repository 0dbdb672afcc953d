"""Names as people type them: when two spellings are one name, and which name is meant.

Conventions. A name may come composed or decomposed (the Unicode standard, annex 15, forms NFC and
NFD), with straight quotation marks or curly ones, with a hyphen of any make, and with any run of
spaces: `same` spellings are one name. Whoever looks a name up also need not mind capitals and
accents: a name matches as it is written, else spelt alike, else without regard to capitals, else
without accents too, each of these in full and else as the beginning of one name only; and where
no name begins so, by any of its words, or by how these begin ("cedar" for "the cedar guitar").
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from logbook.errors import LogbookError

T = TypeVar("T")

ADDED_BY_NAME = ("song", "version", "part", "session", "person", "instrument", "project", "setlist")
"""What a command adds by its name alone."""

_STRAIGHT = str.maketrans(
    {
        **dict.fromkeys("\u2018\u2019\u201a\u201b\u2032\u02bc\u00b4`", "'"),
        **dict.fromkeys("\u201c\u201d\u201e\u201f\u2033\u00ab\u00bb", '"'),
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"),
    }
)
# Letters that Unicode does not take apart, as they are typed where a keyboard has no such key.
_PLAIN = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th"}
)
_LONGEST = 200  # characters of a name that are compared with others for being close


def spelling(name: str) -> str:
    """Return a name as it is stored in one's mind: what two spellings of it have in common."""
    if name.isascii():
        return " ".join(name.replace("`", "'").split())
    return " ".join(unicodedata.normalize("NFC", name.translate(_STRAIGHT)).split())


def fold(name: str) -> str:
    """Return a name without regard to capitals, for comparing."""
    alike = spelling(name)
    if alike.isascii():
        return alike.lower()
    # Twice, since what folding makes may come apart once more.
    for _ in range(2):
        alike = unicodedata.normalize("NFKD", alike).casefold()
    return " ".join(unicodedata.normalize("NFC", alike).split())


def bare(name: str) -> str:
    """Return a name without capitals and accents, for comparing; empty where nothing is left."""
    folded = fold(name)
    if folded.isascii():
        return folded
    apart = unicodedata.normalize("NFD", folded)
    letters = "".join(each for each in apart if not unicodedata.combining(each))
    return " ".join(letters.translate(_PLAIN).split())


def same(one: str, other: str) -> bool:
    """Whether two spellings are one name; capitals and accents count."""
    return one == other or spelling(one) == spelling(other)


def alike(one: str, other: str) -> bool:
    """Whether two names are one without regard to capitals."""
    return fold(one) == fold(other)


def begins(name: str, beginning: str) -> bool:
    """Whether a name begins so, without regard to capitals and accents."""
    return fold(name).startswith(fold(beginning)) or bare(name).startswith(bare(beginning))


def spelt(name: str, known: Iterable[str]) -> str | None:
    """Return the one known name that `name` is a spelling of, None where there is none."""
    wanted = spelling(name)
    return next((each for each in known if spelling(each) == wanted), None)


def matches(name: str, known: Sequence[T], called: Callable[[T], str] = str) -> list[T]:
    """Return the known things that a name may mean: one if it is clear, none if nothing fits."""
    for form in (str, spelling, fold, bare):
        wanted = form(name)
        found = [each for each in known if wanted and form(called(each)) == wanted]
        if found:
            return found
    for form in (fold, bare):
        wanted = form(name)
        found = [each for each in known if wanted and form(called(each)).startswith(wanted)]
        if found:
            return found
    words = bare(name).split()
    for fits in (str.__eq__, str.startswith):
        found = [
            each
            for each in known
            if words
            and all(any(fits(own, word) for own in bare(called(each)).split()) for word in words)
        ]
        if found:
            return found
    return []


def closest(name: str, known: Iterable[str], cutoff: float = 0.5) -> list[str]:
    """Return up to three of the known names that `name` may have been meant for."""
    from difflib import get_close_matches

    by_plain: dict[str, str] = {}
    for each in known:
        by_plain.setdefault(bare(each), each)
    # Near misses are short; comparing a page of text with every name would only take time.
    plain = bare(name)[:_LONGEST]
    return [by_plain[match] for match in get_close_matches(plain, by_plain, n=3, cutoff=cutoff)]


def pick(name: str, known: Sequence[str], what: str, remedy: str = "") -> str:
    """Return the one of the known names that is meant.

    Raises LogbookError naming the closest ones, or all that begin so.
    """
    if name and name in known:
        return name
    found = list(dict.fromkeys(matches(name, known)))
    if len(found) == 1:
        return found[0]
    if found:
        raise several(name, found, f"{what}s")
    raise none_called(name, known, what, remedy)


def several(name: str, found: Sequence[str], what: str) -> LogbookError:
    """Return the error that a name may mean several things."""
    shown = ", ".join(quoted(each) for each in found[:6]) + (" ..." if len(found) > 6 else "")
    return LogbookError(f"{quoted(name)} may be any of {len(found)} {what}", f"write more: {shown}")


def none_called(name: str, known: Sequence[str], what: str, remedy: str = "") -> LogbookError:
    """Return the error that none of the known names is this one, with the closest."""
    near = closest(name, known)
    if near:
        hint = "did you mean " + " or ".join(quoted(each) for each in near) + "?"
    else:
        some = f"there is {', '.join(map(quoted, known[:6]))}{' ...' if len(known) > 6 else ''}"
        hint = remedy or (some if known else f"there is no {what} yet")
    if what in ADDED_BY_NAME and name.strip() and "logbook" not in hint:
        hint += f"{'' if hint.endswith('?') else ';'} to add it: logbook {what} add {quoted(name)}"
    return LogbookError(f"no {what} is called {quoted(name)}", hint)


def listed(names: Sequence[str]) -> str:
    """Return names in quotes, for a sentence."""
    shown = [quoted(each) for each in names]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def quoted(name: str, limit: int = 60) -> str:
    """Return a name in quotes for a sentence, cut where it would drown the sentence."""
    return f'"{name}"' if len(name) <= limit else f'"{name[: limit - 3]}..."'
