"""Where a person is working: the session, version and part that need not be typed again.

It is a bookmark, not part of the log: it leaves no history and no backup restores it wrongly;
what it points at may go, and then it points at nothing.
"""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection, text

from logbook.store.engine import spoken, writing
from logbook.store.finding import Place, find, find_owner
from logbook.store.store import Store, whoami
from logbook.store.targets import storable


class Here(NamedTuple):
    """Names of the current session and place; empty where nothing is set."""

    session: str = ""
    song: str = ""
    version: str = ""
    part: str = ""

    @property
    def place(self) -> Place:
        """The same as a place; its session is where new takes go."""
        return Place(self.song, self.version, self.part, session=self.session)


def read_here(connection: Connection, who: str | None = None) -> Here:
    """Where `who` (LOGBOOK_USER or the computer's user) is working."""
    row = connection.execute(
        text(
            "SELECT COALESCE(e.name, ''), COALESCE(s.title, ''), COALESCE(v.name, ''),"
            " COALESCE(p.name, '') FROM here h LEFT JOIN session e ON e.id = h.session_id"
            " LEFT JOIN version v ON v.id = h.version_id LEFT JOIN song s ON s.id = v.song_id"
            " LEFT JOIN part p ON p.id = h.part_id AND p.version_id = h.version_id"
            " WHERE h.who = :who"
        ),
        {"who": storable(who or whoami())},
    ).first()
    return Here() if row is None else Here(*row)


def set_here(
    store: Store,
    *,
    session_id: int | None,
    version_id: int | None,
    part_id: int | None,
    who: str | None = None,
) -> None:
    """Remember these for `who`; None forgets."""
    with spoken(), writing(store.engine, store.dialect) as connection:
        _remember(connection, who, session_id, version_id, part_id)


def move_here(connection: Connection, place: Place, who: str | None = None) -> None:
    """Remember a place by its names for `who`, in the transaction of `connection`.

    Raises NotFoundError for what is not in the log.
    """
    version = find_owner(connection, "version", place) if place.song else None
    part = find_owner(connection, "part", place) if version and place.part else None
    session = find(connection, "session", place.session) if place.session else None
    _remember(
        connection,
        who,
        session.id if session else None,
        version.id if version else None,
        part.id if part else None,
    )


def _remember(
    connection: Connection,
    who: str | None,
    session_id: int | None,
    version_id: int | None,
    part_id: int | None,
) -> None:
    values = {"who": storable(who or whoami()), "s": session_id, "v": version_id, "p": part_id}
    connection.execute(text("DELETE FROM here WHERE who = :who"), values)
    connection.execute(
        text("INSERT INTO here (who, session_id, version_id, part_id) VALUES (:who, :s, :v, :p)"),
        values,
    )
