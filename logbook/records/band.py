"""Which parts a pass of the whole band was a take of.

A part took part unless the log says otherwise: its chart rests in all of the bars, it was added on
top later, or its player was playing another part (somebody who plays may sing as well).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from logbook.records.context import is_sung
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.silence import silent_bars
from logbook.records.songs import Version
from logbook.timing.bars import parse_range


class Band(NamedTuple):
    """The parts that played, and those that did not, each with why in a few words."""

    played: tuple[Part, ...]
    left_out: tuple[tuple[str, str], ...]


def band_of(log: Log, version: Version, bars: str) -> Band:
    """Return who played in these bars ("1-32"; empty: the whole form). Raises LogbookError."""
    played: list[Part] = []
    left_out: list[tuple[str, str]] = []
    hands: dict[str, str] = {}
    for part in version.parts:
        sung = is_sung(log, part)
        busy = hands.get(part.player, "") if part.player and not sung else ""
        if part.overdubs:
            why = "an overdub"
        elif rests_in(version, part, bars):
            why = f"rests in bars {bars}" if bars else "rests"
        elif busy:
            why = f"{part.player} plays {busy}"
        else:
            played.append(part)
            if part.player and not sung:
                hands[part.player] = part.name
            continue
        left_out.append((part.name, why))
    return Band(tuple(played), tuple(left_out))


def rests_in(version: Version, part: Part, bars: str) -> bool:
    """Whether a part, or its chart, says that it rests in all of these bars.

    A section that is not charted says nothing. Raises LogbookError for bars that are none.
    """
    silent = silent_bars(version, part)
    if silent and bars and silent.issuperset(parse_range(bars).bars):
        return True
    return bool(part.chart) and not any(_may_sound(version, part, bars))


def _may_sound(version: Version, part: Part, bars: str) -> Iterator[bool]:
    wanted = parse_range(bars).bars if bars else range(1_000_000)
    entries = sorted(part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    charted = {each.bar for each in entries}
    for section in version.form:
        inside = range(section.start, section.start + section.bars)
        if charted.isdisjoint(inside):
            yield not set(inside).isdisjoint(wanted)
    held = False
    for at, entry in enumerate(entries):
        until = entries[at + 1].bar if at + 1 < len(entries) else 1_000_000
        last = until if at + 1 < len(entries) and entries[at + 1].beat != "1" else until - 1
        home = next((s for s in version.form if s.start <= entry.bar < s.start + s.bars), None)
        if home is not None:
            # What goes on into a section that nobody charted is not said.
            last = min(last, _charted_to(version, charted, home.start + home.bars) - 1)
        held = bool(entry.voicing)
        yield held and not set(range(entry.bar, min(last, 200_000) + 1)).isdisjoint(wanted)


def _charted_to(version: Version, charted: set[int], bar: int) -> int:
    """The first bar from `bar` on that lies in a section nobody charted, or past the form."""
    for section in sorted(version.form, key=lambda each: each.start):
        if section.start == bar and not charted.isdisjoint(range(bar, bar + section.bars)):
            bar = section.start + section.bars
    return bar
