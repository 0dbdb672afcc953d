"""Files that are said to be of another part or take too, where that is not logged."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem
from logbook.names import alike
from logbook.records.log import Log
from logbook.records.shared import SharedFile, also_of, files_of_version, is_of
from logbook.records.songs import Song


def shared_files(_log: Log, song: Song) -> Iterator[Problem]:
    """Yield files of the song that are said to be of a part or take of it that is not logged."""
    for version in song.versions:
        for own, file in files_of_version(song, version):
            for entry in also_of(own, file) if file.also else ():
                missing = _missing(entry, song)
                if missing:
                    yield Problem(
                        "shared files",
                        f"{song.title}, {version.name}: {file.path}",
                        f"the file is said to be of {missing}, and that is not logged",
                        "what a file is of besides what it hangs on is found by name",
                        "log it, or correct what the file is of",
                    )


def _missing(entry: SharedFile, song: Song) -> str:
    """What of a place is not there, in words; empty where all of it is, or it is elsewhere."""
    if not entry.part or not alike(entry.song, song.title):
        return ""
    found = [
        part
        for version in song.versions
        for part in version.parts
        if is_of(entry, song, version, part)
    ]
    if not found:
        return ", ".join(filter(None, [entry.version, entry.part]))
    if not entry.take or any(str(t.number) == entry.take for p in found for t in p.takes):
        return ""
    return f"take {entry.take} of {entry.part}"
