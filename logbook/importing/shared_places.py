"""What a file is of besides what it hangs on, read as it is typed and found in the log."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.notebook.applying import StoreKnown
from logbook.notebook.declare import Context
from logbook.notebook.nouns import NOUNS
from logbook.store.finding import LogPlace, find, find_owner

if TYPE_CHECKING:
    from sqlalchemy import Connection

Entry = tuple[str, ...]


def read_also(connection: Connection, lines: Sequence[str], place: LogPlace) -> list[Entry]:
    """Return what these lines name, by the names of the log; `place` is where the files attach-all.

    Raises LogbookError for what is not in the log.
    """
    if not lines:
        return []
    context = Context(known=StoreKnown(connection), owners=(), folder="", session="")
    read = NOUNS["file"].field_of("also").read(list(lines), context)
    return [_found(connection, each, place) for each in read]


def _found(connection: Connection, entry: Entry, place: LogPlace) -> Entry:
    song, version, part, take, session, *microphone = entry
    if session:
        session = find(connection, "session", session).name
    if not part:
        return ("", "", "", "", session)
    if not (song or place.song):
        raise LogbookError(
            f"it is not clear which song {part} is of", f'write it as in "{part}; song TITLE"'
        )
    title = find(connection, "song", song).name if song else place.song
    within = LogPlace(song=title, version=version or (place.version if not song else ""))
    within = within._replace(version=find_owner(connection, "version", within).name)
    name = find(connection, "part", part, within).name
    of_version = within.version if version or song else ""
    return (title if song else "", of_version, name, take, session, *microphone)
