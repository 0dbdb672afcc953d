"""The next take of the current part, written without the tables' models, which take long to load.

Conventions. What is written, and what the history says of it, is what `store.writing.put` would
have written; a test holds the two together. Whatever is not the plain case (no current part, a
session whose day is over) is left to that way, and None is returned.
"""

from __future__ import annotations

import datetime
import json
from typing import NamedTuple

from sqlalchemy import Connection, text

from logbook.store.engine import spoken, writing
from logbook.store.here import read_here
from logbook.store.store import Store, whoami
from logbook.store.targets import storable, without_addresses


class NextTake(NamedTuple):
    """A take as it was logged, and where."""

    number: int
    session: str
    song: str
    part: str


def add_next_take(
    store: Store, command: str, result: str, bars: str, today: str
) -> NextTake | None:
    """Log the next take of the current part; None where it is not that simple."""
    who = storable(whoami())
    said = storable(without_addresses(command))
    with spoken():
        with writing(
            store.engine, store.dialect, command=said, who=who, notice=store.notice
        ) as connection:
            done = _add(connection, said, who, result, bars, today)
        if done is not None:
            store.on_commit()
    return done


def _add(
    connection: Connection, command: str, who: str, result: str, bars: str, today: str
) -> NextTake | None:
    here = read_here(connection)
    found = connection.execute(
        text(
            "SELECT s.id, v.id, p.id FROM song s JOIN version v ON v.song_id = s.id"
            " JOIN part p ON p.version_id = v.id"
            " WHERE s.title = :song AND v.name = :version AND p.name = :part"
        ),
        {"song": here.song, "version": here.version, "part": here.part},
    ).first()
    session_id = _session(connection, here.session, today)
    if found is None or (here.session and session_id is None):
        return None
    song, version, part = found
    same = "session_id = :session" if session_id else "session_id IS NULL"
    values = {"part": part, "session": session_id}
    number = connection.execute(
        text(f"SELECT COALESCE(MAX(number), 0) + 1 FROM take WHERE part_id = :part AND {same}"),
        values,
    ).scalar_one()
    position = connection.execute(
        text("SELECT COALESCE(MAX(position) + 1, 0) FROM take WHERE part_id = :part"), values
    ).scalar_one()
    row = {
        "position": position,
        "revision": 1,
        "part_id": part,
        "session_id": session_id,
        "number": number,
        "result": result,
        "bars": bars,
        "clock": "",
        "notes": "",
    }
    take = _insert(connection, "take", row)
    moment = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
    spoken_of = _insert(
        connection,
        "command",
        {"at": moment.replace("+00:00", "Z"), "who": who, "command": command, "undoes": ""},
    )
    change = {
        "command_id": spoken_of,
        "action": "added",
        "kind": "take",
        "row_id": take,
        "label": f"take {number} of {here.part}, {here.version}, {here.song}",
        "place": f"song {song}/version {version}/part {part}/take {take}",
        "song_id": song,
        "after": json.dumps(
            {name: value for name, value in row.items() if value not in (None, "")},
            ensure_ascii=False,
        ),
    }
    _insert(connection, "change", change)
    connection.execute(text("DELETE FROM checked WHERE song_id = :song"), {"song": song})
    return NextTake(number, here.session, here.song, here.part)


def _session(connection: Connection, name: str, today: str) -> int | None:
    """The current session's number; None without one, or where its day is over."""
    row = connection.execute(
        text("SELECT id, date, end_date FROM session WHERE name = :name"), {"name": name}
    ).first()
    if row is None:
        return None
    number, date, end = row
    last = end or date
    on = not date or (date <= today and (today <= last or today.startswith(last)))
    return int(number) if on else None


def _insert(connection: Connection, table: str, row: dict[str, object]) -> int:
    names = ", ".join(f'"{name}"' for name in row)
    values = ", ".join(f":{name}" for name in row)
    statement = text(f'INSERT INTO "{table}" ({names}) VALUES ({values}) RETURNING id')
    return int(connection.execute(statement, row).scalar_one())
