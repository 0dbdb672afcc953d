"""When two sections of a chart are the same to play, so that one of them need not be written.

What is on without being marked again counts as what is marked: the pattern, the meter, the tempo.
Bars that a mark or a remark names ("by bar 12") are counted from the bar it stands at.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from logbook.sheets.charts import ChartBar, ChartSection

JUMPED = re.compile(r"after the D\.[SC]\.(?:[;,]\s*)?")
ENDING = re.compile(r"\w+ ending(?:[;,]\s*)?")
WITHIN = " from beat "  # a change of tempo within a bar
_NAMED_BAR = re.compile(r"(?<=\bby bar )\d+|(?<=\(to bar )\d+(?=[^()]*\)$)")


class Played(NamedTuple):
    """What is played in a section: its `bars`, the tempo of each, and where one is marked.

    Two are the same where all but `marked` is: a mark may say once more what is in force anyway.
    """

    head: tuple[object, ...]
    bars: tuple[object, ...]
    tempos: tuple[str, ...]
    marked: tuple[bool, ...]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Played) and self[:3] == other[:3]

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return hash(self[:3])

    def or_marked(self, other: Played) -> Played:
        """The same for two passes: what is marked in either is marked in what is written."""
        pairs = zip(self.marked, other.marked, strict=True)
        return self._replace(marked=tuple(one or two for one, two in pairs))

    @property
    def timed_bars(self) -> tuple[object, ...]:
        """Each bar with its tempo."""
        return tuple(zip(self.bars, self.tempos, strict=True))


def tempo_marks(bar: ChartBar) -> tuple[str, ...]:
    """Return the tempos that stand at the beginning of a bar; the other marks are its meter."""
    return tuple(each for each in bar.marks if each != bar.meter and WITHIN not in each)


def played_in(sections: Sequence[ChartSection]) -> list[Played]:
    """Return what is played in each section, with the pattern that is on in every bar."""
    pattern = ""
    found = []
    for section in sections:
        bars: list[object] = []
        inner = [bar for row in section.rows for bar in row]
        for bar in inner:
            pattern = bar.pattern or pattern
            bars.append(
                (bar.first_beat, bar.beats, bar.held and bar.held[2:], bar.chords, pattern,
                 bar.meter, _counted_on(bar), bar.tune)
            )  # fmt: skip
        said = ENDING.sub("", JUMPED.sub("", section.said))
        found.append(
            Played(
                (section.name, said, section.tacet, section.charted, section.tune),
                tuple(bars),
                tuple(bar.tempo for bar in inner),
                tuple(bool(tempo_marks(bar)) for bar in inner),
            )
        )
    return found


def _counted_on(bar: ChartBar) -> tuple[str, ...]:
    """The remarks at a bar and the changes of tempo within it, the bars they name from here on."""
    within = (mark for mark in bar.marks if WITHIN in mark)
    return tuple(
        _NAMED_BAR.sub(lambda found: f"+{int(found[0]) - bar.bar}", each)
        for each in (*within, *bar.notes)
    )


def comes_back(written: Played, again: Played, *, told: bool, jumped: bool = False) -> bool:
    """Whether a section that is played after a jump can be read from the written one.

    The tempo may be another: it goes on where no mark stands at either, and else it is `told`, at
    the jump that leads here (`jumped`) or at its bar, which one under way to another cannot be.
    """
    if (written.head, written.bars) != (again.head, again.bars):
        return False
    for place, (tempo, other) in enumerate(zip(written.tempos, again.tempos, strict=True)):
        marked = written.marked[place] or again.marked[place] or (jumped and not place)
        if tempo != other and marked and (not told or "," in tempo + other):
            return False
    return True
