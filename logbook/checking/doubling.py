"""What a part says about being doubled, against the parts and takes logged."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem
from logbook.editing.doubling import Doubling, LoggedPart, check_doubling, parse_doubling_state
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.songs import Song, Version

_NOT_USABLE = frozenset({"reject", "false start"})


def doubled_or_not(_log: Log, song: Song) -> Iterator[Problem]:
    """Yield parts said to be doubled with no double logged, and the reverse."""
    for version in song.versions:
        for finding in check_doubling(_logged(version)):
            yield Problem(
                "doubling",
                f"{song.title}, {version.name}, {finding.part}",
                finding.problem,
                "a double is a second performance, with a part and takes of its own",
                finding.remedy,
            )


def _logged(version: Version) -> list[LoggedPart]:
    """Return the parts as the editing room holds them; there the doubling part names the other."""
    doubles = {
        double.part.casefold(): part.name for part in version.parts for double in part.doubles
    }
    return [
        LoggedPart(
            name=part.name,
            doubling=Doubling(
                state=parse_doubling_state(part.doubled),
                by=_by(part),
                why=part.doubled_why,
            ),
            usable_takes=_usable(part),
            doubles=doubles.get(part.name.casefold(), ""),
        )
        for part in version.parts
    ]


def _by(part: Part) -> str:
    """Return the one part that is said to double this one; of several, each says so itself."""
    single = part.doubled == "doubled" and len(part.doubles) == 1
    return part.doubles[0].part if single else ""


def _usable(part: Part) -> int:
    return sum(take.result not in _NOT_USABLE for take in part.takes)
