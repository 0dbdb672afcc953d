"""What the shell may complete: songs, versions, parts, sessions, by the beginning of any word."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from logbook.cli.log import opened
from logbook.errors import LogbookError

Completer = Callable[[str], list[str]]


def completing(kind: str) -> Completer:
    """Return a completer for the names of a kind: "song", "version", "part", "session" ...

    Versions and parts are those of the current song, where there is one.
    """

    def complete(incomplete: str) -> list[str]:
        try:
            return fitting(incomplete, _names(kind))
        except LogbookError:
            return []

    return complete


def fitting(incomplete: str, names: Iterable[str]) -> list[str]:
    """Return the names that begin so, or that have a word which does, each once."""
    from logbook.names import bare, begins

    known = list(dict.fromkeys(names))
    first = [name for name in known if begins(name, incomplete)]
    wanted = bare(incomplete)
    words = [
        name
        for name in known
        if name not in first and any(word.startswith(wanted) for word in bare(name).split())
    ]
    return first + words


def _names(kind: str) -> list[str]:
    from logbook.store.finding import exactly, names_in
    from logbook.store.here import read_here

    with opened(create=False) as store, store.reading() as connection:
        here = read_here(connection)
        song = exactly(connection, "song", here.song) if here.song else None
        if kind not in ("version", "part") or song is None:
            return names_in(connection, kind)
        versions = names_in(connection, "version", song.id)
        if kind == "version":
            return versions
        names = []
        for name in versions:
            version = exactly(connection, "version", name, song.id)
            names += names_in(connection, "part", version.id) if version else []
        return names


complete_song = completing("song")
complete_version = completing("version")
complete_part = completing("part")
complete_session = completing("session")
