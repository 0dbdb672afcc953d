"""Which song, versions and parts of a log a sheet is about."""

from __future__ import annotations

from typing import TypeVar

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.plaintext import clean
from logbook.records.log import Log
from logbook.records.songs import Song, Version

Record = TypeVar("Record")


def chosen(
    log: Log, title: str, version: str | None = None, part: str | None = None
) -> tuple[Song, tuple[Version, ...]]:
    """Return a song and its versions; the one named, those that have the part named, or all.

    Raises LogbookError where the log has no such song, version or part.
    """
    song = named(log.songs, "title", title, "song")
    versions = song.versions
    if version:
        versions = (named(versions, "name", version, "version"),)
    if part:
        versions = _with_part(versions, part, song)
    return song, versions


def named(records: tuple[Record, ...], field: str, name: str, what: str) -> Record:
    """Return the record of this name; raises LogbookError with the names there are."""
    name = clean(name)  # as are the records of a sheet
    for record in records:
        if alike(str(getattr(record, field)), name):
            return record
    known = ", ".join(str(getattr(record, field)) for record in records)
    raise LogbookError(
        f"there is no {what} called '{name}'", f"it could be {known}" if known else ""
    )


def _with_part(versions: tuple[Version, ...], part: str, song: Song) -> tuple[Version, ...]:
    found = tuple(each for each in versions if any(alike(p.name, part) for p in each.parts))
    if not found:
        names = dict.fromkeys(p.name for each in versions for p in each.parts)
        raise LogbookError(
            f"{song.title} has no part called '{part}'",
            f"it could be {', '.join(names)}" if names else "",
        )
    return found
