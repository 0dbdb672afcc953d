"""Where in an engraved bar each of its beats stands.

A bar with room has its beats evenly spaced. In one without it a chord takes the room its name
needs, and what is left is shared out by length (as notes of different length are spaced in print:
common practice, no source). Sizes are in points.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

Needs = tuple[tuple[float, float], ...]
"""Where in a bar, from 0 to 1, each stretch begins, the first at 0, and how wide it is at least."""


def least_wide(needs: Needs) -> float:
    """Return how wide a bar is at least."""
    return sum(wide for _, wide in needs)


def spread(needs: Needs, room: float) -> Callable[[float], float]:
    """Return how far into a bar of this room a place stands that is from 0 to 1 of it."""
    starts = [start for start, _ in needs]
    ends = [*starts[1:], 1.0]
    lasting = [end - start for start, end in zip(starts, ends, strict=False)]
    least = [wide for _, wide in needs]
    if all(wide <= lasts * room for wide, lasts in zip(least, lasting, strict=True)):
        return lambda where: where * room
    widths = _widths(lasting, least, room)

    def place(where: float) -> float:
        x = 0.0
        for start, end, lasts, wide in zip(starts, ends, lasting, widths, strict=False):
            if where < end:
                return x + wide * (where - start) / lasts
            x += wide
        return x

    return place


def _widths(lasting: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """How wide each stretch is: as long as it lasts, but none less than it needs."""
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
            return [least[at] if at in held else lasts * a_bar for at, lasts in enumerate(lasting)]
        held |= short
