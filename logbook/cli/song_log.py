"""The slice of the log that a command about one song works on."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Log, Part, Song, Version
    from logbook.store.store import Store


class SongLog(NamedTuple):
    """A log that holds one song and what it names, and which version and part were meant.

    `version` and `part` are names, empty where none was asked for.
    """

    log: Log
    song: Song
    version: str
    part: str

    def versions(self) -> tuple[Version, ...]:
        """The versions meant: the one asked for, or all."""
        found = tuple(v for v in self.song.versions if self.version in ("", v.name))
        if not found:
            raise LogbookError(
                f"{self.song.title} has no version yet", "add one with `logbook version add`"
            )
        return found

    def parts(self, version: Version) -> tuple[Part, ...]:
        """The parts meant of a version: the one asked for, or all."""
        return tuple(p for p in version.parts if self.part in ("", p.name))


def read_song(store: Store, song: str = "", version: str = "", part: str = "") -> SongLog:
    """Read one song by the beginnings of names; what is not said is where `here` is.

    Raises LogbookError with the closest names where something is not there or not clear.
    """
    from logbook.store.finding import choose, find
    from logbook.store.here import read_here
    from logbook.store.reading import read_log

    with store.reading() as connection:
        if not song:
            here = read_here(connection)
            if not here.song:
                raise LogbookError(
                    "no song is named, and none is current",
                    "name one, or say where you are with `logbook here SONG`",
                )
            song, version, part = here.song, version or here.version, part or here.part
        found = find(connection, "song", song)
        log = read_log(connection, [found.id])
    (record,) = log.songs
    if version:
        version = choose(version, [each.name for each in record.versions], "version")
    if part:
        chosen = [each for each in record.versions if version in ("", each.name)]
        names = list(dict.fromkeys(p.name for each in chosen for p in each.parts))
        part = choose(part, names, "part")
    return SongLog(log, record, version, part)


def with_releases(store: Store, found: SongLog) -> Log:
    """The song's slice of the log, with the other songs of the releases it is on."""
    from logbook.store.finding import exactly
    from logbook.store.reading import read_log

    titles = {track.song for project in found.log.projects for track in project.tracks}
    if titles <= {found.song.title}:
        return found.log
    with store.reading() as connection:
        songs = (exactly(connection, "song", title) for title in sorted(titles))
        return read_log(connection, sorted(each.id for each in songs if each is not None))
