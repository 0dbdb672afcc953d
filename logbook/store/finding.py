"""Finding things by name: by unambiguous beginnings, and the closest names on a miss.

Conventions
-----------
Which name is meant is for `logbook.names` to say. A Place says by names where to look. Take
numbers are exact.
"""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection, text

from logbook.errors import LogbookError
from logbook.names import listed, pick, spelt
from logbook.store.errors import NotFoundError
from logbook.store.targets import storable

# The column that names a row, by table; what has none is found by its place in a list.
NAME_COLUMNS = {
    "person": "name",
    "tuning": "name",
    "instrument": "name",
    "session": "name",
    "song": "title",
    "version": "name",
    "part": "name",
    "voicing": "label",
    "pattern": "label",
    "take": "number",
    "comp": "name",
    "arrangement": "name",
    "project": "title",
    "setlist": "name",
    "audio_file": "path",
    "remark": "name",
}
NOUNS = {
    "audio_file": "file",
    "setlist": "set list",
}
# What a noun is looked up in: its owner's table, when it has one.
INSIDE = {
    "version": "song",
    "part": "version",
    "arrangement": "version",
    "voicing": "part",
    "pattern": "part",
    "take": "part",
    "comp": "part",
}


class LogPlace(NamedTuple):
    """Where something stands, by names; leave empty what does not apply.

    A take is named by `take` (its number) with `session`, which may stay empty while the number
    alone says which take is meant.
    """

    song: str = ""
    version: str = ""
    part: str = ""
    take: int | None = None
    session: str = ""
    comp: str = ""
    arrangement: str = ""
    setlist: str = ""
    project: str = ""
    file: str = ""


NOWHERE = LogPlace()


class FoundRow(NamedTuple):
    """A row that was found: its table, id, full name and revision (0 where none is kept)."""

    kind: str
    id: int
    name: str
    revision: int = 0


def noun(kind: str) -> str:
    """What a person calls a row of this table."""
    return NOUNS.get(kind, kind.replace("_", " "))


def choose(name: str, known: list[str], what: str) -> str:
    """The one of `known` that `name` means. Raises NotFoundError with the closest names."""
    try:
        return pick(name, known, what)
    except LogbookError as error:
        raise NotFoundError(error.problem, error.remedy) from None


def names_in(connection: Connection, kind: str, owner_id: int | None = None) -> list[str]:
    """All names of this kind (in that owner), as they were entered."""
    column = NAME_COLUMNS[kind]
    where = f" WHERE {INSIDE[kind]}_id = {owner_id:d}" if owner_id is not None else ""
    rows = connection.exec_driver_sql(f'SELECT "{column}" FROM "{kind}"{where} ORDER BY id')
    return [str(row[0]) for row in rows]


def find(connection: Connection, kind: str, name: str, place: LogPlace = NOWHERE) -> FoundRow:
    """The row of `kind` that `name` means at `place`, by an unambiguous beginning.

    Raises NotFoundError, with the closest names, for what is not there or not clear.
    """
    if kind == "take":
        return find_take(connection, place._replace(take=_number(name)))
    owner = INSIDE.get(kind)
    owner_id = find_owner(connection, owner, place).id if owner else None
    return _find(connection, kind, name, owner_id)


def _find(connection: Connection, kind: str, name: str, owner_id: int | None) -> FoundRow:
    found = exactly(connection, kind, name, owner_id)
    if found is None:
        chosen = choose(name, names_in(connection, kind, owner_id), noun(kind))
        found = exactly(connection, kind, chosen, owner_id)
    assert found is not None
    return found


def exactly(
    connection: Connection, kind: str, name: str, owner_id: int | None = None
) -> FoundRow | None:
    """The row of `kind` with exactly this name, in any spelling of it, if there is one."""
    if storable(name) != name:
        return None
    found = _as_written(connection, kind, name, owner_id)
    if found is None and not (name.isascii() and name.replace(" ", "").isalnum()):
        other = spelt(name, names_in(connection, kind, owner_id))
        found = _as_written(connection, kind, other, owner_id) if other is not None else None
    return found


def _as_written(
    connection: Connection, kind: str, name: str, owner_id: int | None
) -> FoundRow | None:
    column = NAME_COLUMNS[kind]
    where = f" AND {INSIDE[kind]}_id = {owner_id:d}" if owner_id is not None else ""
    row = connection.execute(
        text(f'SELECT id, "{column}", revision FROM "{kind}" WHERE "{column}" = :name{where}'),
        {"name": name},
    ).first()
    return None if row is None else FoundRow(kind, row[0], str(row[1]), row[2])


def find_owner(connection: Connection, kind: str, place: LogPlace) -> FoundRow:
    """The row of `kind` that `place` goes through; one of a kind need not be named."""
    if kind == "take":
        return find_take(connection, place)
    name = str(getattr(place, "file" if kind == "audio_file" else kind))
    owner = INSIDE.get(kind)
    owner_id = find_owner(connection, owner, place).id if owner else None
    if name:
        return _find(connection, kind, name, owner_id)
    known = names_in(connection, kind, owner_id) if owner else []
    if len(known) == 1:
        return _find(connection, kind, known[0], owner_id)
    raise NotFoundError(
        f"it is not clear which {noun(kind)} is meant",
        f"there are {listed(known[:6])}" if known else f"name the {noun(kind)}",
    )


def find_take(connection: Connection, place: LogPlace) -> FoundRow:
    """The take that `place` names by number, and by session where the number is not enough."""
    part = find_owner(connection, "part", place)
    rows = connection.execute(
        text(
            "SELECT t.id, t.number, t.revision, COALESCE(s.name, '') FROM take t"
            " LEFT JOIN session s ON s.id = t.session_id"
            " WHERE t.part_id = :part ORDER BY t.position, t.id"
        ),
        {"part": part.id},
    ).fetchall()
    wanted = [row for row in rows if row[1] == place.take]
    if not wanted:
        numbers = ", ".join(str(row[1]) for row in rows[-12:])
        raise NotFoundError(
            f"{part.name!r} has no take {place.take}",
            f"its takes are {numbers}" if numbers else "no take of it is logged yet",
        )
    if place.session:
        name = choose(place.session, sorted({row[3] for row in wanted}), "session of that take")
        wanted = [row for row in wanted if row[3] == name]
    if len(wanted) > 1:
        sessions = listed([row[3] or "(no session)" for row in wanted])
        raise NotFoundError(
            f"{part.name!r} has a take {place.take} in {sessions}", "say in which session"
        )
    return FoundRow("take", wanted[0][0], str(wanted[0][1]), wanted[0][2])


def _number(name: str) -> int:
    try:
        return int(name)
    except ValueError:
        raise NotFoundError(f"{name!r} is not a take's number", "write a whole number") from None
