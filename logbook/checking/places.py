"""Walking a song for the rules, and saying what cannot be read instead of stopping at it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from logbook.checking.problem import Problem
from logbook.errors import LogbookError
from logbook.records.context import Place, tempo_map_of
from logbook.records.log import Log
from logbook.records.songs import Song, TempoChange, Version
from logbook.timing.tempo_map import TempoMap


def parts_of(log: Log, song: Song) -> Iterator[Place]:
    """Yield every part of the song where it stands."""
    for version in song.versions:
        for part in version.parts:
            yield Place(log, song, version, part)


def unreadable(rule: str, where: str, error: LogbookError) -> Problem:
    """Return the problem that something logged cannot be read."""
    return Problem(rule, where, error.problem, "the log cannot be read here", error.remedy)


def bars_map(version: Version) -> TempoMap:
    """Return the version's tempo map, for questions about bars alone.

    Without a logged tempo, any will do. Raises LogbookError where meters or tempos cannot be read.
    """
    if version.tempos:
        stated = version
    else:
        stated = replace(version, tempos=(TempoChange(bar=1, bpm=120.0),))
    found = tempo_map_of(stated)
    assert found is not None, "a version with a tempo has a tempo map"
    return found
