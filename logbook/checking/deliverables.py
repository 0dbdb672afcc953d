"""Deliverables against their files, as far as the log has read them."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem
from logbook.records.delivered import faults_of, look_in_log, name_of, shared_files
from logbook.records.log import Log
from logbook.records.songs import Song


def deliverables(log: Log, song: Song) -> Iterator[Problem]:
    """Yield deliverables that went out without a file, or whose file is another than is said."""
    for version in song.versions:
        if not version.deliverables:
            continue
        look = look_in_log(log, version)
        for each in version.deliverables:
            name = f"{each.kind}, mix {each.mix}" if each.mix else each.kind
            for fault in faults_of(each, look):
                yield Problem(
                    "deliverables",
                    f"{song.title}, {version.name}: {name}",
                    fault,
                    "whoever gets it relies on what is written",
                    "make the file again, or say what is so: logbook deliverable edit",
                )
    for path, first, second in shared_files(song):
        yield Problem(
            "deliverables",
            f"{song.title}: {name_of(path)}",
            f"it stands for {first} and for {second}",
            "one file is one of them",
            "name the right file: logbook deliverable edit",
        )
