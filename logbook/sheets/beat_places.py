"""Where in an engraved bar each of its beats stands.

A bar with room has its beats evenly spaced. In one without it a chord takes the room its name
needs, and what is left is shared out by length (as notes of different length are spaced in print:
common practice, no source). Sizes are in points.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

Needs = tuple[tuple[Fraction, float], ...]
"""Where in a bar, from 0 to 1, each stretch begins, the first at 0, and how wide it is at least."""


def least_wide(needs: Needs) -> float:
    """Return how wide a bar is at least."""
    return sum(wide for _, wide in needs)


def place_in(where: Fraction, needs: Needs, room: float) -> float:
    """Return how far into a bar of this room a place stands that is `where` from 0 to 1."""
    if not needs:
        return float(where) * room
    starts = (*(start for start, _ in needs), Fraction(1))
    widths = _widths(needs, room)
    x = 0.0
    for (start, end), wide in zip(pairwise(starts), widths, strict=True):
        if where < end:
            return x + wide * float((where - start) / (end - start))
        x += wide
    return x


@lru_cache(maxsize=4096)
def _widths(needs: Needs, room: float) -> Sequence[float]:
    """How wide each stretch is: as long as it lasts, but none less than it needs."""
    starts = (*(start for start, _ in needs), Fraction(1))
    lasting = [float(end - start) for start, end in pairwise(starts)]
    least = [wide for _, wide in needs]
    if sum(least) >= room:
        return [wide * room / sum(least) for wide in least]
    held: set[int] = set()
    while True:
        left = room - sum(least[at] for at in held)
        a_bar = left / (sum(lasts for at, lasts in enumerate(lasting) if at not in held) or 1.0)
        short = {
            at for at, lasts in enumerate(lasting) if at not in held and lasts * a_bar < least[at]
        }
        if not short:
            break
        held |= short
    return [least[at] if at in held else lasts * a_bar for at, lasts in enumerate(lasting)]
