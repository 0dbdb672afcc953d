"""The whole log of a database as a session file, song by song, so that its size does not matter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from logbook.notebook.working_copy import LogKnown
from logbook.notebook.write import song_text, write_pieces
from logbook.store.reading import read_log, read_titles, read_without_songs, song_ids
from logbook.store.sharing import in_parts

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.store import Store

_AT_ONCE = 50


def dump_pieces(store: Store, connection: Connection) -> Iterator[str]:
    """Yield a session file of the whole log piece by piece, as `connection` sees it."""
    ids = song_ids(connection)
    batches = [ids[at : at + _AT_ONCE] for at in range(0, len(ids), _AT_ONCE)]
    songs = (text for texts in in_parts(store, connection, _texts, batches) for text in texts)
    return write_pieces(read_without_songs(connection), songs, read_titles(connection))


def _texts(connection: Connection, ids: Sequence[int]) -> list[str]:
    """The texts of some songs; a slice of the log holds all that they name."""
    log = read_log(connection, ids)
    known = LogKnown(log)
    return [song_text(song, known) for song in log.songs]
