"""What must stand over the written bars of a folded chart, so that every pass is played rightly.

A pass that comes from elsewhere may need a meter, a tempo or a pattern that is on already where the
bars are first read: it stands at the written bar, where it is true for every pass. What begins
after a jump says anew what the section printed before it leaves otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

from logbook.sheets.charts import ChartBar, ChartSection
from logbook.sheets.folded import Folded, bar_passes
from logbook.sheets.folding_alike import tempo_marks


def patterns_on(sections: Sequence[ChartSection]) -> dict[int, str]:
    """Return the pattern that is on in each bar."""
    found, pattern = {}, ""
    for bar in (bar for section in sections for row in section.rows for bar in row):
        found[bar.bar] = pattern = bar.pattern or pattern
    return found


def with_all_marks(
    folded: Sequence[Folded], every: Mapping[int, ChartBar], patterns: Mapping[int, str]
) -> list[Folded]:
    """Return written sections with the marks that any of their passes needs.

    `every` bar as it is played and the `patterns` that are on are by its number.
    """
    jumps = {
        each.back_from: (sign[:4], each.back_at)
        for each in folded
        for sign in each.signs
        if each.back_from and sign.startswith("D.")
    }

    def for_all_passes(own: Folded, bar: ChartBar) -> ChartBar:
        others: dict[str, None] = {}
        for number in map(int, bar_passes(own, bar).split()):
            later = every.get(number, bar)
            at = max((at for at in jumps if at <= number), default=0)
            if later.tempo == bar.tempo or not at:
                continue
            jump, back_at = jumps[at]
            said_there = back_at and number == at
            if tempo_marks(bar) or (tempo_marks(later) and not said_there):
                others[f"{later.tempo} after the {jump}"] = None
        for number in map(int, bar_passes(own, bar).split()):
            bar = _with_marks_of(bar, every.get(number, bar))
        if not others:
            return bar
        said = ", ".join(others)
        if not tempo_marks(bar):
            return bar._replace(marks=(*bar.marks, said))
        return bar._replace(marks=(*bar.marks[:-1], f"{bar.marks[-1]} ({said})"))

    found = [_each_bar(each, for_all_passes) for each in folded]
    for place, (before, after) in enumerate(pairwise(found)):
        if before.section.has_bars and after.section.has_bars:
            found[place + 1] = _anew(before, after, patterns)
    return found


def _each_bar(folded: Folded, new: Callable[[Folded, ChartBar], ChartBar]) -> Folded:
    rows = tuple(tuple(new(folded, bar) for bar in row) for row in folded.section.rows)
    endings = tuple(tuple(new(folded, bar) for bar in row) for row in folded.endings)
    return folded._replace(section=folded.section._replace(rows=rows), endings=endings)


def _with_marks_of(bar: ChartBar, later: ChartBar) -> ChartBar:
    """A written bar with what is marked at another pass, where both are in the same."""
    marks = bar.marks
    if later.meter in later.marks and later.meter not in marks:
        marks = (later.meter, *marks)
    if later.tempo == bar.tempo and not tempo_marks(bar):
        at = marks.index(bar.meter) + 1 if bar.meter in marks else 0
        marks = (*marks[:at], *tempo_marks(later), *marks[at:])
    return bar._replace(marks=marks, pattern=bar.pattern or later.pattern)


def _anew(before: Folded, after: Folded, patterns: Mapping[int, str]) -> Folded:
    """A section that is not reached from the one printed before it, with what is on by then."""
    last, first = before.rows[-1][-1], after.section.rows[0][0]
    if str(first.bar - 1) in bar_passes(before, last).split() or last.bar < 1:
        return after
    marks = first.marks
    if first.meter != last.meter and first.meter not in marks:
        marks = (first.meter, *marks)
    if first.tempo != last.tempo and not tempo_marks(first) and "," not in first.tempo:
        at = marks.index(first.meter) + 1 if first.meter in marks else 0
        marks = (*marks[:at], first.tempo, *marks[at:])
    pattern = first.pattern
    if patterns.get(first.bar, "") != patterns.get(last.bar, ""):
        pattern = pattern or patterns.get(first.bar, "")
    (row, *more) = after.section.rows
    rows = ((first._replace(marks=marks, pattern=pattern), *row[1:]), *more)
    return after._replace(section=after.section._replace(rows=rows))
