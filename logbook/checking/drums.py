"""Drum patterns against the meter they are played in."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.records.kits import kit_patterns
from logbook.records.log import Log
from logbook.records.part_view import parts_of
from logbook.records.songs import Song
from logbook.strings.kit import read_kit

_RULE = "drum pattern"


def drum_patterns(log: Log, song: Song) -> Iterator[Problem]:
    """Yield patterns of the kit that do not fit the meter of the bars they are played in."""
    for place in parts_of(log, song):
        known = kit_patterns(place.part)
        if not known:
            continue
        met: set[tuple[str, str]] = set()
        for entry in sorted(place.part.chart, key=lambda each: each.bar):
            pattern = known.get(entry.voicing)
            if pattern is None:
                continue
            try:
                meter = place.bars.meter_at(max(entry.bar, place.bars.first_bar))
            except LogbookError as error:
                yield unreadable(_RULE, place.title, error)
                break
            if (pattern.label, str(meter)) in met:
                continue
            met.add((pattern.label, str(meter)))
            try:
                read_kit(pattern.line, pattern.grid, meter, pattern.feel)
            except LogbookError as error:
                yield Problem(
                    _RULE,
                    f"{place.title}: {pattern.label} at bar {entry.bar}",
                    error.problem,
                    f"the meter there is {meter}",
                    error.remedy or "write the pattern for that meter",
                )
