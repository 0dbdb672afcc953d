"""A take moved to another part, version or session, with its punch-ins and files."""

from __future__ import annotations

from typing import Any

from sqlalchemy import func, select

from logbook.errors import LogbookError
from logbook.store.changing import Change
from logbook.store.finding import FoundRow, LogPlace, find, find_owner
from logbook.store.models.takes import TakeRow


def move_take(change: Change, take: FoundRow, place: LogPlace, session: str | None = None) -> int:
    """Move a take to the part at `place` and into `session` (None: its own, "": none).

    It keeps its number where that is free, else it gets the next one; the number is returned.
    Raises NotFoundError for what is not in the log, LogbookError where nothing would move.
    """
    row: Any = change.session.get(TakeRow, take.id)
    part = find_owner(change.connection, "part", place)
    session_id = row.session_id
    if session is not None:
        session_id = find(change.connection, "session", session).id if session else None
    if (row.part_id, row.session_id) == (part.id, session_id):
        raise LogbookError(f"take {take.name} already exists", "say where it is to go")
    there = TakeRow.part_id == part.id
    same = TakeRow.session_id == session_id if session_id else TakeRow.session_id.is_(None)
    taken = set(change.session.scalars(select(TakeRow.number).where(there, same)))
    number = row.number if row.number not in taken else max(taken) + 1
    last = change.session.scalar(select(func.max(TakeRow.position)).where(there))
    if row.part_id != part.id:
        row.position = 0 if last is None else last + 1
    row.part_id, row.session_id, row.number = part.id, session_id, number
    change.session.flush()
    return int(number)
