"""One transaction that writes, and the history it leaves.

Conventions
-----------
Rows are written through the ORM; the mapper's events note every row that comes, changes or
goes, with its columns before and after, and the notes are stored in the same transaction. Bulk
statements are refused, because they would pass the events by; the one door for many new rows is
`store.bulk`, which notes them itself. A row's revision goes up here.
"""

from __future__ import annotations

import contextlib
import datetime
import json
import logging
import time
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, bindparam, event, inspect, text
from sqlalchemy.orm import Mapper, ORMExecuteState, Session, configure_mappers
from sqlalchemy.orm.exc import StaleDataError

from logbook.store.bulk import insert_many
from logbook.store.engine import in_silence, writing
from logbook.store.errors import ConflictError
from logbook.store.finding import NAME_COLUMNS, noun
from logbook.store.models import MODELS, Base
from logbook.store.models.history import ChangeRow, CheckedRow, CommandRow, HereRow

_JSON = json.JSONEncoder(ensure_ascii=False).encode

log = logging.getLogger("logbook.store")

UNRECORDED: tuple[type[Base], ...] = (CommandRow, ChangeRow, HereRow, CheckedRow)
# A row's owner columns, in the order in which they are looked at.
OWNERS = (
    ("comp_id", "comp"),
    ("take_id", "take"),
    ("audio_file_id", "audio_file"),
    ("arrangement_id", "arrangement"),
    ("part_id", "part"),
    ("version_id", "version"),
    ("song_id", "song"),
    ("session_id", "session"),
    ("setlist_id", "setlist"),
    ("project_id", "project"),
)
# Where a column of that name is a reference and not the owner.
NOT_OWNERS = {
    ("take", "session_id"),
    ("overdub", "session_id"),
    ("comp_piece", "session_id"),
    ("vote", "session_id"),
    ("arranged_part", "part_id"),
    ("setlist_entry", "arrangement_id"),
    ("setlist_entry", "version_id"),
    ("project_track", "version_id"),
}

_PARTS = (
    "DELETE FROM checked WHERE song_id IN (SELECT v.song_id FROM version v"
    " JOIN part p ON p.version_id = v.id WHERE "
)
# Findings about songs that name a person, instrument, tuning or session, to be thrown away.
NAMING = {
    "person": (
        f"{_PARTS}p.player_id IN :ids OR p.id IN"
        " (SELECT r.part_id FROM role r WHERE r.person_id IN :ids) OR p.id IN"
        " (SELECT b.part_id FROM vote b WHERE b.person_id IN :ids))",
        "DELETE FROM checked WHERE song_id IN"
        " (SELECT s.song_id FROM share s WHERE s.person_id IN :ids) OR song_id IN"
        " (SELECT r.song_id FROM role r WHERE r.person_id IN :ids) OR song_id IN"
        " (SELECT v.song_id FROM role r JOIN version v ON v.id = r.version_id"
        " WHERE r.person_id IN :ids)",
    ),
    "instrument": (f"{_PARTS}p.instrument_id IN :ids)",),
    "tuning": (
        f"{_PARTS}p.tuning_id IN :ids OR p.instrument_id IN"
        " (SELECT i.id FROM instrument i WHERE i.tuning_id IN :ids))",
    ),
    "session": (
        f"{_PARTS}p.id IN (SELECT t.part_id FROM take t WHERE t.session_id IN :ids)"
        " OR p.id IN (SELECT o.part_id FROM overdub o WHERE o.session_id IN :ids)"
        " OR p.id IN (SELECT c.part_id FROM comp c JOIN comp_piece k ON k.comp_id = c.id"
        " WHERE k.session_id IN :ids)"
        " OR p.id IN (SELECT b.part_id FROM vote b WHERE b.session_id IN :ids))",
    ),
}


class NotedRow(NamedTuple):
    """One row that came, changed or went, before it is stored."""

    action: str
    kind: str
    row_id: int
    label: str
    place: str
    song_id: int | None
    before: str | None
    after: str | None


class Change:
    """A transaction that writes; `session` is the ORM's, `noted` what happened so far."""

    def __init__(self, session: Session, command: str, who: str) -> None:
        self.session = session
        self.command = command
        self.who = who
        self.noted: list[NotedRow] = []
        self.command_id: int | None = None
        self._command: CommandRow | None = None
        self._left: set[int] = set()
        self._kept = 0
        self._places: dict[tuple[str, int], tuple[str, str]] = {}

    @property
    def connection(self) -> Connection:
        """The connection this transaction runs on."""
        return self.session.connection()

    def place(self, kind: str, row_id: int) -> tuple[str, str]:
        """A row's place ("song 3/version 5") and what a person calls it."""
        row = self.session.get(MODELS[kind], row_id)
        return ("", "") if row is None else self.place_of(row)

    def place_of(self, row: Base) -> tuple[str, str]:
        """The same for a row at hand."""
        place, names = self._above(row)
        kind = str(row.__tablename__)
        name = getattr(row, NAME_COLUMNS[kind]) if kind in NAME_COLUMNS else None
        return f"{place}{kind} {row.id}", _label(kind, name, names)

    def _above(self, row: Base) -> tuple[str, str]:
        kind = str(row.__tablename__)
        return self._over(kind, {column: getattr(row, column, None) for column, _ in OWNERS})

    def _over(self, kind: str, columns: Mapping[str, Any]) -> tuple[str, str]:
        for column, table in OWNERS:
            above = columns.get(column)
            if above is not None and (kind, column) not in NOT_OWNERS:
                return self._down_to(table, above)
        return "", ""

    def _down_to(self, kind: str, row_id: int) -> tuple[str, str]:
        known = self._places.get((kind, row_id))
        if known is None:
            row = self.session.get(MODELS[kind], row_id)
            if row is None:
                return "", ""
            place, names = self._above(row)
            name = _name(kind, row)
            known = f"{place}{kind} {row_id}/", f"{name}, {names}" if names else name
            self._places[kind, row_id] = known
        return known

    def note(self, action: str, row: Base, before: Any, after: Any) -> None:
        """Keep what happened to `row`."""
        with self.session.no_autoflush:
            self._places.pop((str(row.__tablename__), row.id), None)
            place, label = self.place_of(row)
            for column, table in OWNERS:
                # A file that moved from one song to another concerns both.
                if before and after and before.get(column) is not None:
                    old = self.place(table, before[column])[0].partition("/")[0].partition(" ")
                    if old[0] == "song":
                        self._left.add(int(old[2]))
        top = place.partition("/")[0].partition(" ")
        self.noted.append(
            NotedRow(
                action,
                str(row.__tablename__),
                row.id,
                label,
                place,
                int(top[2]) if top[0] == "song" else None,
                None if before is None else _JSON(before),
                None if after is None else _JSON(said(after) if before is None else after),
            )
        )

    def note_added(self, kind: str, columns: Mapping[str, Any]) -> None:
        """Keep that a row came that the ORM has not seen, by its columns with its id."""
        place, names = self._over(kind, columns)
        row_id = columns["id"]
        song_id = int(place[5 : place.index("/")]) if place.startswith("song ") else None
        label = _label(kind, columns.get(NAME_COLUMNS.get(kind, "")), names)
        after = _JSON(said(columns))
        self.noted.append(
            NotedRow("added", kind, row_id, label, f"{place}{kind} {row_id}", song_id, None, after)
        )

    def open_command(self, *, undoes: str = "") -> CommandRow:
        """This transaction's row in the history."""
        if self._command is None:
            self._command = CommandRow(at=now(), who=self.who, command=self.command, undoes=undoes)
            self.session.add(self._command)
            self.session.flush()
            self.command_id = self._command.id
        return self._command

    def know_place(self, kind: str, columns: Mapping[str, Any]) -> None:
        """Remember where a row stands that the ORM has not seen, for what is noted below it."""
        place, names = self._over(kind, columns)
        name = _called(kind, columns[NAME_COLUMNS[kind]]) if kind in NAME_COLUMNS else kind
        known = f"{place}{kind} {columns['id']}/", f"{name}, {names}" if names else name
        self._places[kind, columns["id"]] = known

    @property
    def songs_left(self) -> set[int]:
        """The songs that a row was moved out of."""
        return set(self._left)

    @property
    def count(self) -> int:
        """How many rows came, changed or went so far."""
        return self._kept + len(self.noted)

    def spill(self, most: int = 2000) -> None:
        """Write out what is noted where that has become much, so that memory stays small."""
        if len(self.noted) > most:
            self._store_noted()

    def let_go(self) -> None:
        """Write out what is pending and forget the rows at hand, so that memory stays small."""
        self.session.flush()
        self.session.expunge_all()
        self._places.clear()
        self.spill()

    def _store_noted(self) -> None:
        self._forget_findings()
        command = self.open_command()
        rows = [{"command_id": command.id, **noted._asdict()} for noted in self.noted]
        insert_many(self.connection, Base.metadata.tables[ChangeRow.__tablename__], rows)
        self._kept += len(self.noted)
        self.noted.clear()

    def finish(self) -> None:
        """Write everything out, with its history; comps follow what got another name."""
        self.session.flush()
        if self.noted:
            from logbook.store.drawn import follow  # both read rows by way of this module
            from logbook.store.shared_names import follow_names

            follow(self)
            follow_names(self)
            self._store_noted()

    def _forget_findings(self) -> None:
        """Throw away what checks found in songs that this transaction touched."""
        songs = {noted.song_id for noted in self.noted if noted.song_id is not None} | self._left
        self._forget("DELETE FROM checked WHERE song_id IN :ids", songs)
        for kind, statements in NAMING.items():
            # What is new is named by nothing yet.
            ids = {n.row_id for n in self.noted if n.kind == kind and n.action != "added"}
            for statement in statements:
                self._forget(statement, ids)

    def _forget(self, statement: str, ids: set[int]) -> None:
        listed = sorted(ids)
        deletion = text(statement).bindparams(bindparam("ids", expanding=True))
        for start in range(0, len(listed), 500):
            self.connection.execute(deletion, {"ids": listed[start : start + 500]})


def said(columns: Mapping[str, Any]) -> dict[str, Any]:
    """What the history keeps of a new row: what is said in it, since most of it says nothing."""
    return {
        name: value
        for name, value in columns.items()
        if value is not None and value != "" and name != "id"
    }


def now() -> str:
    """This moment, ISO 8601 in UTC to the millisecond."""
    moment = datetime.datetime.now(datetime.UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _name(kind: str, row: Base) -> str:
    return _called(kind, getattr(row, NAME_COLUMNS[kind]))


def _called(kind: str, name: object) -> str:
    return f"take {name}" if kind == "take" else str(name)


def _label(kind: str, name: object, names: str) -> str:
    label = noun(kind)
    if kind in NAME_COLUMNS:
        label += f" {name}"
    return f"{label} of {names}" if names else label


def columns_of(row: Base) -> dict[str, Any]:
    """All columns of a row but its id, by name."""
    return {
        attribute.key: getattr(row, attribute.key)
        for attribute in inspect(type(row)).column_attrs
        if attribute.key != "id"
    }


@contextlib.contextmanager
def changing(
    engine: Engine,
    dialect: str,
    command: str,
    who: str,
    *,
    notice: Callable[[str], None] = in_silence,
) -> Iterator[Change]:
    """A Change on a database that is committed at the end, or undone by any error."""
    # The models are made ready before it is this one's turn, so that nobody waits for that.
    configure_mappers()
    with (
        writing(engine, dialect, command=command, who=who, notice=notice) as connection,
        Session(connection, autoflush=False, expire_on_commit=False) as session,
    ):
        change = Change(session, command, who)
        session.info["change"] = change
        try:
            start = time.perf_counter()
            yield change
            change.finish()
            took = time.perf_counter() - start
            log.info("%s: %d changes in %.3f s", command, change.count, took)
        except StaleDataError as error:
            raise ConflictError(
                "somebody else changed the same thing meanwhile, and nothing was written",
                "check it and run the command again",
                mine={},
                theirs=None,
            ) from error


def _change(row: Base) -> Change | None:
    if isinstance(row, UNRECORDED):
        return None
    session = inspect(row).session
    found = session.info.get("change") if session is not None else None
    return found if isinstance(found, Change) else None


@event.listens_for(Session, "before_flush")
def _count_revisions(session: Session, _context: object, _instances: object) -> None:
    for row in session.dirty:
        if hasattr(row, "revision") and session.is_modified(row):
            row.revision += 1


@event.listens_for(Base, "after_insert", propagate=True)
def _inserted(_mapper: Mapper[Any], _connection: Connection, row: Base) -> None:
    change = _change(row)
    if change is not None:
        change.note("added", row, None, columns_of(row))


@event.listens_for(Base, "after_update", propagate=True)
def _updated(_mapper: Mapper[Any], _connection: Connection, row: Base) -> None:
    change = _change(row)
    if change is None:
        return
    before, after = {}, {}
    for attribute in inspect(row).attrs:
        history = attribute.history
        if history.has_changes() and attribute.key != "revision":
            before[attribute.key] = history.deleted[0] if history.deleted else None
            after[attribute.key] = attribute.value
    if after:
        change.note("changed", row, before, after)


@event.listens_for(Base, "before_delete", propagate=True)
def _deleted(_mapper: Mapper[Any], _connection: Connection, row: Base) -> None:
    change = _change(row)
    if change is not None:
        change.note("removed", row, columns_of(row), None)


@event.listens_for(Session, "do_orm_execute")
def _no_bulk(state: ORMExecuteState) -> None:
    if state.is_insert or state.is_update or state.is_delete:
        raise RuntimeError("bulk statements would pass the history by; write rows one by one")
