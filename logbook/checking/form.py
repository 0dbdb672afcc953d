"""The form and the chart: sections that overlap, chart entries that stand nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.records.context import bars_map
from logbook.records.log import Log
from logbook.records.part_view import parts_of
from logbook.records.songs import FormSection, Song


def form_overlaps(_log: Log, song: Song) -> Iterator[Problem]:
    """Yield sections of a version's form that claim the same bars."""
    for version in song.versions:
        ordered = sorted(version.form, key=lambda section: (section.start, section.bars))
        for first, second in pairwise(ordered):
            end = first.start + first.bars
            if second.start < end:
                shared = _bars(second.start, min(end, second.start + second.bars) - 1)
                yield Problem(
                    "form",
                    f"{song.title}, {version.name}",
                    f"{_section_text(first)} and {_section_text(second)} overlap in {shared}",
                    "a bar belongs to one section",
                    f"let {second.name} start at bar {end}, or {first.name} end at "
                    f"bar {second.start - 1}",
                )


def chart_in_form(log: Log, song: Song) -> Iterator[Problem]:
    """Yield chart entries in bars outside the form, or on beats their bar does not have."""
    for place in parts_of(log, song):
        version = place.version
        try:
            bars = bars_map(version)
        except LogbookError as error:
            yield unreadable("chart", place.title, error)
            continue
        first = 1 if version.form else bars.first_bar
        last = max((each.start + each.bars - 1 for each in version.form), default=None)
        held = {bar for each in version.form for bar in range(each.start, each.start + each.bars)}
        for entry in place.part.chart:
            pickup = entry.bar == 0 and bars.first_bar == 0
            outside = version.form and entry.bar not in held and not pickup
            if not outside and entry.beat == "1":
                continue
            what = f"{entry.voicing or 'a rest'} at bar {entry.bar}, beat {entry.beat}"
            if outside:
                reach = f"bars {first}-{last}"
                yield Problem(
                    "chart",
                    f"{place.title}: {what}",
                    f"bar {entry.bar} is outside the form",
                    f"the form holds {reach}, section by section",
                    "move the entry, or add the section to the form",
                )
            elif entry.bar >= bars.first_bar:
                beats = bars.meter_at(entry.bar).beats
                beat = _beat(entry.beat)
                if beat is None or not 1 <= beat < beats + 1:
                    yield Problem(
                        "chart",
                        f"{place.title}: {what}",
                        f"bar {entry.bar} has no beat {entry.beat}",
                        f"its meter is {bars.meter_at(entry.bar)}",
                        f"use beats 1 to {beats}",
                    )


def _beat(text: str) -> Fraction | None:
    """The beat an entry stands on, None where it cannot be read."""
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None


def _section_text(section: FormSection) -> str:
    return f"{section.name} ({_bars(section.start, section.start + section.bars - 1)})"


def _bars(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {first}-{last}"
