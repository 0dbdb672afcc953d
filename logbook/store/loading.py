"""From rows to records: one SELECT for each table, however much is read.

Conventions
-----------
A `where` is a condition on the table itself; what hangs below it is selected through the same
condition one level down, so the number of queries depends on the shape of the log, never on
its size. Only whole numbers are ever written into a statement; everything else is bound.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import Connection

from logbook.store.finding import NAME_COLUMNS
from logbook.store.layout import SHAPES, Shape, StoredField


class Row(NamedTuple):
    """A record with the row it was read from; revision 0 where the table keeps none."""

    id: int
    owner: int | None
    revision: int
    record: Any


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
    head = ["t.id", f't."{owner}"' if owner else "NULL"]
    head.append("t.revision" if has_revision(shape) else "0")
    columns = ", ".join(head + [_expression(field) for field in shape.fields])
    condition = f" WHERE {where}" if where else ""
    order = "t.position, t.id" if has_position(shape) else "t.id"
    return f'SELECT {columns} FROM "{shape.table}" t{condition} ORDER BY {order}'


def stored_list(text: str) -> tuple[Any, ...]:
    """Return the list that a column holds as JSON text."""
    if not text:
        return ()
    return tuple(tuple(item) if isinstance(item, list) else item for item in json.loads(text))


def _truth(value: Any) -> bool | None:
    return None if value is None else bool(value)


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
) -> list[Row]:
    """All rows of `table` that meet `where` (on alias t), as records with all that they hold.

    With `shallow` the records hold nothing but their own fields, which is enough for a list.
    """
    shape = SHAPES[table]
    below: list[tuple[str, bool, dict[int, list[Any]]]] = []
    for child in () if shallow else shape.children:
        scope = f't."{child.column}" IS NOT NULL'
        if where:
            scope = f't."{child.column}" IN (SELECT t.id FROM "{table}" t WHERE {where})'
        found: dict[int, list[Any]] = {}
        for row in load(connection, child.table, scope, child.column):
            if row.owner is not None:
                found.setdefault(row.owner, []).append(row.record)
        below.append((child.field, child.single, found))
    names = [field.name for field in shape.fields]
    converters = _converters(shape)
    share = any(field.kind == "share" for field in shape.fields)
    rows = []
    make = shape.record
    for values in connection.exec_driver_sql(select(shape, owner, where)):
        given = list(values[3:])
        if share:
            at = names.index("share")
            given[at : at + 2] = [Fraction(given[at], given[at + 1])]
        fields = dict(zip(names, given, strict=True))
        for name, convert in converters:
            fields[name] = convert(fields[name])
        for name, single, found in below:
            held = found.get(values[0])
            if single:
                fields[name] = held[0] if held else None
            else:
                fields[name] = tuple(held) if held else ()
        rows.append(Row(values[0], values[1], values[2], make(**fields)))
    return rows
