"""Arrangements that cannot be played as they are written.

Worked out are the form, the tempos, the key, and the parts whose capo, tuning, instrument or way
the arrangement says. What is wrong with the record itself is told by other rules.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from logbook.checking.problem import Problem
from logbook.errors import LogbookError
from logbook.records.arrangements import ArrangedPart, Arrangement
from logbook.records.log import Log
from logbook.records.songs import Song, Version


def arrangements(log: Log, song: Song) -> Iterator[Problem]:
    """Yield kept arrangements that cannot be worked out, each with the reason."""
    for version in song.versions:
        for each in version.arrangements:
            names = {arranged.part for arranged in each.parts if _sets_hands(arranged)}
            names |= {arranged.part for arranged in each.parts} - {
                part.name for part in version.parts
            }
            parts = tuple(part for part in version.parts if part.name in names)
            kept = replace(
                each, parts=tuple(arranged for arranged in each.parts if arranged.part in names)
            )
            less = replace(version, parts=parts)
            problem = _problem(log, song, less, kept)
            if problem and not _problem(log, song, less, Arrangement(name="")):
                yield Problem(
                    "arrangements",
                    f"{song.title}, {version.name}, arrangement {each.name}",
                    problem.problem,
                    "the arrangement cannot be played as it is written",
                    problem.remedy or "change the arrangement",
                )


def _sets_hands(arranged: ArrangedPart) -> bool:
    return not arranged.left_out and bool(
        arranged.capo is not None or arranged.tuning or arranged.instrument or arranged.way
    )


def _problem(log: Log, song: Song, version: Version, plan: Arrangement) -> LogbookError | None:
    # Here, for most songs have no arrangement, and working one out needs half the program.
    from logbook.arranging.arrange import arrange

    try:
        arrange(log, song, version, plan)
    except LogbookError as error:
        return error
    return None
