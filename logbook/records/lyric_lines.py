"""The lines of the words as stretches of bars, each up to the next or its section's end."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from logbook.editing.survey import Section
from logbook.records.context import sections_of
from logbook.records.lyrics import in_order
from logbook.records.songs import Version
from logbook.timing.bars import BarPoint, BarRange

_SUNG = frozenset({"voice", "voices", "vocal", "vocals", "singer", "singers", "choir", "vox"})


class LyricLine(NamedTuple):
    """A line of the words and the bars it is sung in."""

    text: str
    bars: BarRange


def lyric_lines(version: Version) -> tuple[LyricLine, ...]:
    """Return the lines of a version with their bars, in the order in which they are sung.

    A line lasts until the next one, but not past its section; one that begins in a section's last
    bar is a pick-up to the next section, and lasts up to that one's end at most.
    """
    lines = in_order(version.lyrics)
    starts = [BarPoint(each.bar, Fraction(each.beat)) for each in lines]
    form = sections_of(version)
    found = []
    for number, (line, start) in enumerate(zip(lines, starts, strict=True)):
        after = [other for other in starts[number + 1 :] if other > start][:1]
        ends = after + _limit(form, start)
        end = min(ends, default=BarPoint(start.bar + 1))
        found.append(LyricLine(line.text, BarRange(start, end)))
    return tuple(found)


def _limit(form: tuple[Section, ...], start: BarPoint) -> list[BarPoint]:
    for at, section in enumerate(form):
        if section.bars.start <= start < section.bars.end:
            is_pick_up = start.bar == section.bars.end.bar - 1 and start.beat > 1
            into = form[at + 1] if is_pick_up and at + 1 < len(form) else section
            return [into.bars.end]
    later = [section.bars.end for section in form if section.bars.start > start]
    return later[:1]


def is_sung(part: str, instrument: str) -> bool:
    """Tell whether a part is sung, by what it and its instrument are called."""
    words = f"{part} {instrument}".casefold().replace("-", " ").split()
    return any(word in _SUNG or "vocal" in word for word in words)
