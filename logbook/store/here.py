"""Where a person is working: the session, version and part that need not be typed again.

Conventions
-----------
It is a bookmark, not part of the log: it leaves no history, is in no export, and no copy that is
brought back changes it. One is kept for each person and terminal (or, where there is no
terminal, folder), so that two screens do not move each other; a terminal that has none yet uses
the person's latest. A bookmark keeps row numbers and names: a name may change, and a row may go
and come back with an undo or a restore. What is gone for good it no longer points at.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import Connection, text

from logbook.store.engine import spoken, writing
from logbook.store.store import Store, whoami
from logbook.store.targets import storable

if TYPE_CHECKING:
    from logbook.store.finding import LogPlace

KEPT = 30
"""How many terminals are remembered for a person."""


class Here(NamedTuple):
    """Names of the current session and place; empty where nothing is set."""

    session: str = ""
    song: str = ""
    version: str = ""
    part: str = ""

    @property
    def place(self) -> LogPlace:
        """The same as a place; its session is where new takes go."""
        from logbook.store.finding import LogPlace

        return LogPlace(self.song, self.version, self.part, session=self.session)


def terminal() -> str:
    """What tells this terminal from others: its device and session, or else the folder."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        try:
            name = os.ttyname(stream.fileno())
            return f"{name} {os.getsid(0)}"
        except (OSError, ValueError, AttributeError):
            continue
    try:
        return os.getcwd()
    except OSError:
        return ""


_VERSION = (
    "COALESCE((SELECT v.id FROM version v WHERE v.id = h.version_id),"
    " (SELECT v.id FROM version v JOIN song s ON s.id = v.song_id"
    " WHERE s.title = h.song AND v.name = h.version))"
)
_FOUND = f"""
SELECT COALESCE((SELECT e.name FROM session e WHERE e.id = h.session_id),
                (SELECT e.name FROM session e WHERE e.name = h.session), ''),
       COALESCE((SELECT s.title FROM song s JOIN version v ON v.song_id = s.id
                 WHERE v.id = {_VERSION}), ''),
       COALESCE((SELECT v.name FROM version v WHERE v.id = {_VERSION}), ''),
       COALESCE((SELECT p.name FROM part p WHERE p.id = h.part_id AND p.version_id = {_VERSION}),
                (SELECT p.name FROM part p WHERE p.name = h.part AND p.version_id = {_VERSION}),
                '')
FROM here h WHERE h.who = :who
ORDER BY CASE WHEN h.terminal = :terminal THEN 0 ELSE 1 END, h.id DESC LIMIT 1
"""


def read_here(connection: Connection, who: str | None = None) -> Here:
    """Where `who` (LOGBOOK_USER or the computer's user) is working at this terminal."""
    values = {"who": storable(who or whoami()), "terminal": storable(terminal())}
    row = connection.execute(text(_FOUND), values).first()
    return Here() if row is None else Here(*row)


def set_here(
    store: Store,
    *,
    session_id: int | None,
    version_id: int | None,
    part_id: int | None,
    who: str | None = None,
) -> None:
    """Remember these for `who` at this terminal; None forgets."""
    with spoken(), writing(store.engine, store.dialect, command="here") as connection:
        _remember(connection, who, session_id, version_id, part_id)


def move_here(connection: Connection, place: LogPlace, who: str | None = None) -> None:
    """Remember a place by its names for `who`, in the transaction of `connection`.

    Raises NotFoundError for what is not in the log.
    """
    from logbook.store.finding import find, find_owner

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
    values = {
        "who": storable(who or whoami()),
        "terminal": storable(terminal()),
        "s": session_id,
        "v": version_id,
        "p": part_id,
    }
    connection.execute(text("DELETE FROM here WHERE who = :who AND terminal = :terminal"), values)
    connection.execute(
        text(
            "INSERT INTO here (who, terminal, session_id, version_id, part_id, session, song,"
            " version, part) VALUES (:who, :terminal, :s, :v, :p,"
            " COALESCE((SELECT name FROM session WHERE id = :s), ''),"
            " COALESCE((SELECT s.title FROM song s JOIN version v ON v.song_id = s.id"
            " WHERE v.id = :v), ''),"
            " COALESCE((SELECT name FROM version WHERE id = :v), ''),"
            " COALESCE((SELECT name FROM part WHERE id = :p), ''))"
        ),
        values,
    )
    connection.execute(
        text(
            "DELETE FROM here WHERE who = :who AND id NOT IN"
            " (SELECT id FROM here WHERE who = :who ORDER BY id DESC LIMIT :kept)"
        ),
        {**values, "kept": KEPT},
    )


def bookmarks(connection: Connection) -> list[dict[str, Any]]:
    """Everybody's bookmarks, by names alone, so that they fit another state of the log."""
    rows = connection.exec_driver_sql(
        "SELECT who, terminal, session, song, version, part FROM here ORDER BY id"
    )
    return [dict(row) for row in rows.mappings()]


def set_bookmarks(connection: Connection, marks: list[dict[str, Any]]) -> None:
    """Put these bookmarks in the place of all that are there."""
    connection.exec_driver_sql("DELETE FROM here")
    if marks:
        connection.execute(
            text(
                "INSERT INTO here (who, terminal, session, song, version, part)"
                " VALUES (:who, :terminal, :session, :song, :version, :part)"
            ),
            marks,
        )
