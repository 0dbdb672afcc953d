"""From rows to records: one SELECT for each table, however much is read.

Conventions
-----------
A `where` is a condition on the table itself; what hangs below is selected by the numbers of a few
rows, or through the same condition one level down, so the number of queries depends on the shape
of the log, never on its size; below nothing, nothing is asked. Only whole numbers are ever written
into a statement; everything else is bound.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import MISSING, fields
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import Connection

from logbook.store.finding import NAME_COLUMNS
from logbook.store.layout import SHAPES, Child, Shape, StoredField


class LoadedRow(NamedTuple):
    """A record with the row it was read from; revision 0 where the table keeps none."""

    id: int
    owner: int | None
    revision: int
    record: Any


_AT_ONCE = 500
_NAMED_SINGLY = 50
UNREVISED = frozenset({"measurement"})


def _expression(field: StoredField) -> str:
    if field.kind == "ref":
        name = NAME_COLUMNS[field.table]
        return (
            f'COALESCE((SELECT r."{name}" FROM "{field.table}" r'
            f" WHERE r.id = t.\"{field.columns[0]}\"), '')"
        )
    if field.kind == "song":
        return (
            "(SELECT s.title FROM song s JOIN version v ON v.song_id = s.id"
            " WHERE v.id = t.version_id)"
        )
    return ", ".join(f't."{column}"' for column in field.columns)


def has_position(shape: Shape) -> bool:
    """Whether the table keeps places in a list."""
    return bool(shape.owners) and shape.table not in UNREVISED


def has_revision(shape: Shape) -> bool:
    """Whether the table counts revisions."""
    return not shape.listed


def select(shape: Shape, owner: str | None, where: str) -> str:
    """The SELECT that reads `shape`: id, owner, revision, then its fields in order."""
    condition = f" WHERE {where}" if where else ""
    order = "t.position, t.id" if has_position(shape) else "t.id"
    return f"{_selected(shape.table, owner)}{condition} ORDER BY {order}"


@cache
def _selected(table: str, owner: str | None) -> str:
    shape = SHAPES[table]
    head = ["t.id", f't."{owner}"' if owner else "NULL"]
    head.append("t.revision" if has_revision(shape) else "0")
    columns = ", ".join(head + [_expression(field) for field in shape.fields])
    return f'SELECT {columns} FROM "{table}" t'


def stored_list(text: str) -> tuple[Any, ...]:
    """Return the list that a column holds as JSON text."""
    if not text:
        return ()
    return tuple(tuple(item) if isinstance(item, list) else item for item in json.loads(text))


def _truth(value: Any) -> bool | None:
    return None if value is None else bool(value)


class _RowMaking(NamedTuple):
    """How a row becomes a record: the names of its fields, where a share begins among them (-1:
    nowhere), what is worked out of a column, and what it says where nothing is read."""

    names: list[str]
    share: int
    converters: list[tuple[str, Callable[[Any], Any]]]
    blank: dict[str, Any]


@cache
def _making(table: str) -> _RowMaking:
    shape = SHAPES[table]
    names = [field.name for field in shape.fields]
    share = names.index("share") if any(f.kind == "share" for f in shape.fields) else -1
    return _RowMaking(names, share, _converters(shape), _blank(shape))


def _converters(shape: Shape) -> list[tuple[str, Callable[[Any], Any]]]:
    made: list[tuple[str, Callable[[Any], Any]]] = []
    for field in shape.fields:
        if field.kind == "bool":
            made.append((field.name, _truth))
        elif field.kind == "json":
            made.append((field.name, stored_list))
    return made


def load(
    connection: Connection,
    table: str,
    where: str = "",
    owner: str | None = None,
    *,
    shallow: bool = False,
) -> list[LoadedRow]:
    """All rows of `table` that meet `where` (on alias t), as records with all that they hold.

    With `shallow` the records hold nothing but their own fields, which is enough for a list.
    """
    shape = SHAPES[table]
    names, share, converters, blank = _making(table)
    # Records are made without their initializer, which sets each field by itself: a log has
    # hundreds of thousands of them, and none works anything out when it is made.
    made, new = shape.record, object.__new__
    rows: list[LoadedRow] = []
    for chunk in _chunks(connection, select(shape, owner, where)):
        for values in chunk:
            given = values[3:]
            if share >= 0:
                exact = Fraction(given[share], given[share + 1])
                given = (*given[:share], exact, *given[share + 2 :])
            record = new(made)
            held_by = record.__dict__
            held_by.update(blank)
            held_by.update(zip(names, given, strict=True))
            for name, convert in converters:
                held_by[name] = convert(held_by[name])
            rows.append(LoadedRow(values[0], values[1], values[2], record))
    if rows and not shallow:
        for child in shape.children:
            _hang(connection, rows, child, _below(table, rows, where, child.column))
    return rows


def _below(table: str, rows: Sequence[LoadedRow], where: str, column: str) -> str:
    """The condition on a table for what hangs on these rows; `where` is how they were selected."""
    if len(rows) <= _NAMED_SINGLY:
        return f't."{column}" IN ({", ".join(str(row.id) for row in rows)})'
    if where:
        return f't."{column}" IN (SELECT t.id FROM "{table}" t WHERE {where})'
    return f't."{column}" IS NOT NULL'


def _hang(connection: Connection, rows: Sequence[LoadedRow], child: Child, scope: str) -> None:
    """Give each record what it holds of a kind, all of it selected at once by `scope`."""
    found: dict[int | None, list[Any]] = {}
    for row in load(connection, child.table, scope, child.column):
        found.setdefault(row.owner, []).append(row.record)
    for row in rows if found else ():
        held = found.get(row.id)
        if held:
            row.record.__dict__[child.field] = held[0] if child.single else tuple(held)


def _chunks(connection: Connection, statement: str) -> Iterator[Sequence[Any]]:
    """The rows of a SELECT, some at a time.

    SQLite's own cursor gives them where a transaction has begun: a log is read with many small
    statements, and looking at the result of each took SQLAlchemy longer than SQLite the reading.
    """
    raw = connection.connection.driver_connection
    if not (isinstance(raw, sqlite3.Connection) and connection.in_transaction()):
        yield from connection.exec_driver_sql(statement).partitions(_AT_ONCE)
        return
    with closing(raw.execute(statement)) as cursor:
        while chunk := cursor.fetchmany(_AT_ONCE):
            yield chunk


def _blank(shape: Shape) -> dict[str, Any]:
    """What a record says of which nothing is read."""
    blank: dict[str, Any] = {}
    for field in fields(shape.record):
        if field.default is not MISSING:
            blank[field.name] = field.default
        elif field.default_factory is not MISSING:
            blank[field.name] = field.default_factory()
    return blank
