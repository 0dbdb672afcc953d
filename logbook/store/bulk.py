"""Many new rows of one table at once, each with its place in the history.

Conventions
-----------
The ORM costs more for each row than the database does, so rows that nothing in the transaction
has looked at yet go to the driver in one statement. Their numbers are reserved first, and what
the history says of them is what it says of rows that the ORM writes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from sqlalchemy import Connection, Table, insert


class Noting(Protocol):
    """A transaction that writes, and notes in the history what it is told of."""

    @property
    def connection(self) -> Connection:
        """The connection it runs on."""

    def note_added(self, kind: str, columns: Mapping[str, Any]) -> None:
        """Note a new row of a table."""


def add_rows(change: Noting, table: Table, rows: Sequence[Mapping[str, Any]]) -> list[int]:
    """Add rows of a table, told by columns, and return their numbers in order.

    What a row does not say is as the table has it by itself. Raises SQLAlchemy's
    IntegrityError for what the table does not allow.
    """
    if not rows:
        return []
    blank = {column.key: usual(column) for column in table.columns if column.key != "id"}
    ids = reserve(change.connection, table.name, len(rows))
    whole = [{"id": row_id, **blank, **columns} for row_id, columns in zip(ids, rows, strict=True)]
    insert_many(change.connection, table, whole)
    for row in whole:
        change.note_added(table.name, row)
    return ids


def insert_many(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows that all say the same columns, as the driver takes them, in one statement."""
    if not rows:
        return
    compiled = insert(table).compile(dialect=connection.dialect, column_keys=list(rows[0]))
    names = getattr(compiled, "positiontup", None)
    if names is not None:
        values: list[Any] = [tuple([row[name] for name in names]) for row in rows]
    else:
        values = [dict(row) for row in rows]
    connection.exec_driver_sql(str(compiled), values)


def usual(column: Any) -> Any:
    """Return what stands in a column of which nothing is said."""
    return column.default.arg if column.default is not None else None


def reserve(connection: Connection, table: str, count: int) -> list[int]:
    """Return the numbers of the next rows; none that was ever given out, as no other writes."""
    if connection.dialect.name == "postgresql":
        drawn = connection.exec_driver_sql(
            f"SELECT nextval(pg_get_serial_sequence('\"{table}\"', 'id'))"
            f" FROM generate_series(1, {count:d})"
        )
        return [int(row[0]) for row in drawn]
    last = connection.exec_driver_sql(
        f"SELECT seq FROM sqlite_sequence WHERE name = '{table}'"
    ).scalar()
    first = int(last or 0) + 1
    return list(range(first, first + count))
