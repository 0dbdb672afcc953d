"""Walking a song for the rules, and saying what cannot be read instead of stopping at it."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem
from logbook.errors import LogbookError
from logbook.records.context import PartPlace
from logbook.records.log import Log
from logbook.records.songs import Song


def parts_of(log: Log, song: Song) -> Iterator[PartPlace]:
    """Yield every part of the song where it stands."""
    for version in song.versions:
        for part in version.parts:
            yield PartPlace(log, song, version, part)


def unreadable(rule: str, where: str, error: LogbookError) -> Problem:
    """Return the problem that something logged cannot be read."""
    return Problem(rule, where, error.problem, "the log cannot be read here", error.remedy)
