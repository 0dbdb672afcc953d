"""What many tests put into an empty log is put there once; the others take over its rows.

Making every table step by step, and putting a log in row by row with its history, is what some
tests are about; for all others it is only where they begin, and took longer than they did.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from typing import Any

from sqlalchemy import Engine

from logbook.store import schema
from logbook.store.journal import use_wal
from logbook.store.store import Store

# By what was put and the kind of database: a copy in memory, or each table's rows as text.
_kept: dict[tuple[str, str], Any] = {}


def planted(store: Store, name: str, put: Callable[[], object]) -> None:
    """Have in an empty log what `put` puts there; `name` tells one such thing from another.

    The rows are those that the first log of its kind got, with the moments of its history.
    """
    key = (name, store.dialect)
    if key not in _kept or not _is_empty(store):
        empty = _is_empty(store)
        put()
        if empty:
            _kept[key] = _copied(str(store.path)) if store.path else _keep_tables(store)
    elif store.path:
        with closing(sqlite3.connect(store.path)) as log:
            _kept[key].backup(log)
    else:
        _plant_tables(store, _kept[key])


_migrate = schema.migrate


def migrated_once(engine: Engine, dialect: str, to: str = "head", *, down: bool = False) -> None:
    """Do as `schema.migrate` does; an empty file gets the tables that it made for the first one."""
    key = ("", dialect)
    path = str(engine.url.database)
    if dialect != "sqlite" or to != "head" or down or not _has_nothing(path):
        _migrate(engine, dialect, to, down=down)
    elif key not in _kept:
        _migrate(engine, dialect)
        _kept[key] = _copied(path)
    else:
        use_wal(engine)
        with closing(sqlite3.connect(path)) as log:
            _kept[key].backup(log)


def _has_nothing(path: str) -> bool:
    with closing(sqlite3.connect(path)) as log:
        return log.execute("SELECT COUNT(*) FROM sqlite_master").fetchone() == (0,)


def _is_empty(store: Store) -> bool:
    with store.engine.connect() as connection:
        return not connection.exec_driver_sql("SELECT COUNT(*) FROM command").scalar()


def _copied(path: str) -> sqlite3.Connection:
    copy = sqlite3.connect(":memory:", check_same_thread=False)
    with closing(sqlite3.connect(path)) as log:
        log.backup(copy)
    return copy


_TABLES = (
    "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"
    " AND tablename <> 'alembic_version' ORDER BY tablename"
)


def _keep_tables(store: Store) -> dict[str, bytes]:
    kept = {}
    with store.engine.connect() as connection:
        tables = [row[0] for row in connection.exec_driver_sql(_TABLES)]
        raw: Any = connection.connection.driver_connection
        for table in tables:
            with raw.cursor().copy(f'COPY "{table}" TO STDOUT') as rows:
                kept[table] = b"".join(map(bytes, rows))
    return kept


def _plant_tables(store: Store, kept: dict[str, bytes]) -> None:
    with store.engine.begin() as connection:
        raw: Any = connection.connection.driver_connection
        # References are whole as they were where the rows come from; their order is any.
        connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        for table, rows in kept.items():
            if rows:
                with raw.cursor().copy(f'COPY "{table}" FROM STDIN') as to:
                    to.write(rows)
        connection.exec_driver_sql(
            "SELECT setval(s.sequence, s.highest) FROM ("
            + " UNION ALL ".join(
                f"SELECT pg_get_serial_sequence('\"{table}\"', 'id') AS sequence,"
                f' (SELECT MAX(id) FROM "{table}") AS highest'
                for table, rows in kept.items()
                if rows and _has_id(connection, table)
            )
            + ") s WHERE s.sequence IS NOT NULL"
        )


def _has_id(connection: Any, table: str) -> bool:
    found = connection.exec_driver_sql(
        "SELECT 1 FROM pg_attribute WHERE attrelid = %s::regclass AND attname = 'id'",
        (f'"{table}"',),
    )
    return bool(found.scalar())
