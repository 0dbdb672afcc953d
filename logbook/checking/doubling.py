"""What a part says about being doubled, against the parts and takes logged."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem
from logbook.editing.doubling import LoggedPart, check_doubling
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.songs import Song, Version

_NOT_USABLE = frozenset({"reject", "false start"})


def doubled_or_not(log: Log, song: Song) -> Iterator[Problem]:
    """Yield parts said to be doubled with no double logged, and the reverse."""
    for version in song.versions:
        for finding in check_doubling(_logged(log, song, version)):
            yield Problem(
                "doubling",
                f"{song.title}, {version.name}, {finding.part}",
                finding.problem,
                "a double is a second performance, with a part and takes of its own",
                finding.remedy,
            )


def _logged(log: Log, song: Song, version: Version) -> list[LoggedPart]:
    """Return the parts as the editing room holds them; there the doubling part names the other."""
    views = [PartView(log, song, version, part) for part in version.parts]
    return [
        LoggedPart(
            name=view.part.name,
            doubling=view.doubling,
            usable_takes=_usable(view.part),
            doubles=view.doubles,
        )
        for view in views
    ]


def _usable(part: Part) -> int:
    return sum(take.result not in _NOT_USABLE for take in part.takes)
