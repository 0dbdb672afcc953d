"""What differs between an old text and a new one, so that a line of history can say just that."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple


class ChangedWords(NamedTuple):
    """The words that differ, and how many bar lines (`|`) stand before them."""

    old: str
    new: str
    bars: int


def differing(old: str, new: str) -> ChangedWords:
    """The words of two tunes that differ, with a word beside them where one has none there."""
    a, b = old.split(), new.split()
    most = min(len(a), len(b))
    start = next((at for at in range(most) if a[at] != b[at]), most)
    end = next((at for at in range(most - start) if a[-1 - at] != b[-1 - at]), most - start)
    first = start - (start > 0 and min(len(a), len(b)) - end == start)
    return ChangedWords(
        " ".join(a[first : len(a) - end]),
        " ".join(b[first : len(b) - end]),
        a[:start].count("|"),
    )


def differing_pieces(old: str, new: str) -> Iterator[tuple[str, str, str]]:
    """Each piece of the kit that two drum lines do not have alike: its name, old, new."""
    before, after = _pieces(old), _pieces(new)
    for piece in {**before, **after}:
        one, other = before.get(piece, ""), after.get(piece, "")
        if one != other:
            yield piece, one, other


def _pieces(line: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for said in filter(None, map(str.strip, line.split(";"))):
        piece, _, strokes = said.partition(" ")
        found[piece] = strokes.strip()
    return found
