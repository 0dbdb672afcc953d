"""How the bars of a section are broken into lines. Widths are in points."""

from __future__ import annotations

from collections.abc import Sequence


def halved(needs: Sequence[float], a_line: int, room: float) -> list[tuple[int, int]]:
    """How many bars stand in each line, and how many would fill it: what does not fit is halved."""
    found = []
    for at in range(0, len(needs), a_line):
        here = needs[at : at + a_line]
        if a_line == 1 or sum(here) <= room:
            found.append((len(here), a_line))
        else:
            found += halved(here, a_line // 2, room)
    return found


def fewest_lines(needs: Sequence[float], a_line: int, room: float) -> list[tuple[int, int]]:
    """The same in as few lines as there can be, each as full as the others where that does."""
    full = _filled(needs, a_line, room)
    even = _filled(needs, -(-len(needs) // len(full)), room)
    return even if len(even) == len(full) else full


def _filled(needs: Sequence[float], a_line: int, room: float) -> list[tuple[int, int]]:
    found: list[int] = []
    wide = 0.0
    for need in needs:
        wide += need
        if not found or found[-1] == a_line or wide > room:
            found.append(0)
            wide = need
        found[-1] += 1
    return [(count, count) for count in found]
