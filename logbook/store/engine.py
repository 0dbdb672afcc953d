"""The connection to the database: how it is set up, and how writers queue up.

Conventions
-----------
SQLite runs with foreign keys on, in WAL mode (so that a backup or a sheet reads while others
write) and with synchronous FULL: a command that said "done" is on the disk even when the power
fails; the price is one sync a command. Writers stand in a queue (see `queueing`) and begin
IMMEDIATE; on PostgreSQL they queue up at one advisory lock for the same reason. Either way a
writer that waits says for whom after a second.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import NoSuchModuleError, SQLAlchemyError, StatementError
from sqlalchemy.pool import NullPool

from logbook.store.errors import DamagedError, StoreError, plain
from logbook.store.queueing import SAID_AFTER_S, turn, waiting_for
from logbook.store.targets import BUSY_SECONDS, Target, without_addresses

# One number for the writers' queue on PostgreSQL; advisory locks are counted per database.
WRITERS = 7_102_026
# And one for the programs that open an older log at the same time.
OPENERS = WRITERS + 1


@contextlib.contextmanager
def spoken() -> Iterator[None]:
    """Turn the driver's errors into plain sentences."""
    try:
        yield
    except (StatementError, sqlite3.Error) as error:
        raise plain(error) from error
    except (UnicodeDecodeError, json.JSONDecodeError) as error:
        # The file is a database still, but no longer holds what was written into it.
        raise DamagedError(
            "something in the log cannot be read any more: its file is damaged",
            "bring back the last backup with `logbook restore`",
        ) from error


def make_engine(target: Target) -> Engine:
    """An engine for `target`, set up as this module says."""
    if target.path is not None:
        engine = create_engine(
            URL.create("sqlite", database=str(target.path)),
            poolclass=NullPool,
            connect_args={"timeout": BUSY_SECONDS},
        )
        event.listen(engine, "connect", _sqlite_connected)
        event.listen(engine, "begin", _sqlite_begin)
        return engine
    try:
        url = make_url(target.url)
        return create_engine(
            url,
            pool_size=1,
            connect_args={"options": f"-c lock_timeout={BUSY_SECONDS}s"},
        )
    except (ModuleNotFoundError, NoSuchModuleError) as error:
        raise StoreError(
            "PostgreSQL needs a driver that is not installed",
            "install it with: pip install 'session-logbook[postgres]'",
        ) from error
    except (SQLAlchemyError, ValueError) as error:
        raise StoreError(
            f"{target.shown} cannot be read as a database URL",
            "write it like postgresql://user@server/database (the password is best kept in the"
            " file that PGPASSFILE names)",
        ) from error


def _sqlite_connected(connection: Any, _record: object) -> None:
    # We say BEGIN ourselves (see _sqlite_begin); the driver must not do so behind our back.
    connection.isolation_level = None
    cursor = connection.cursor()
    try:
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.execute("PRAGMA synchronous = FULL")
    finally:
        cursor.close()


def _sqlite_begin(connection: Connection) -> None:
    writing = connection.get_execution_options().get("logbook_writing")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def in_silence(_: str) -> None:
    """Take a remark and say nothing."""


@contextlib.contextmanager
def writing(
    engine: Engine,
    dialect: str,
    *,
    unchecked: bool = False,
    command: str = "",
    who: str = "",
    notice: Callable[[str], None] = in_silence,
) -> Iterator[Connection]:
    """A connection in a transaction that writes while no other one does.

    `unchecked` turns SQLite's foreign keys off meanwhile, for making tables anew. Whoever has
    to wait is told, with `notice`, what `command` of `who` is being written.
    """
    with contextlib.ExitStack() as stack:
        if dialect == "sqlite":
            stack.enter_context(turn(Path(str(engine.url.database)), command, who, notice))
        connection = stack.enter_context(engine.connect())
        if dialect == "sqlite":
            if unchecked:
                raw = connection.connection.driver_connection
                assert raw is not None
                raw.execute("PRAGMA foreign_keys = OFF")
            connection = connection.execution_options(logbook_writing=True)
        with connection.begin():
            if dialect == "postgresql":
                _queue_on_server(connection, engine, command, who, notice)
            yield connection


def _queue_on_server(
    connection: Connection,
    engine: Engine,
    command: str,
    who: str,
    notice: Callable[[str], None],
) -> None:
    """Wait at the writers' lock of a PostgreSQL log until this transaction has its turn."""
    label = f"logbook {without_addresses(command).partition(' ')[0]} ({who})"
    connection.exec_driver_sql("SELECT set_config('application_name', %s, true)", (label[:60],))

    def say() -> None:
        # Asked on a connection of its own; the waiting one is busy waiting.
        found = None
        with contextlib.suppress(SQLAlchemyError), engine.connect() as other:
            found = other.exec_driver_sql(
                "SELECT a.application_name, extract(epoch FROM now() - a.xact_start)"
                " FROM pg_locks l JOIN pg_stat_activity a ON a.pid = l.pid"
                " WHERE l.locktype = 'advisory' AND l.granted"
                f" AND l.objid = {WRITERS} AND a.datname = current_database() LIMIT 1"
            ).first()
        if found is None:
            notice(waiting_for("", "", None))
        else:
            name, _, by = str(found[0]).removeprefix("logbook ").partition(" (")
            notice(waiting_for(name, by.rstrip(")"), float(found[1])))

    timer = threading.Timer(SAID_AFTER_S, say)
    timer.daemon = True
    timer.start()
    try:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")
    finally:
        timer.cancel()
