"""An open log: what it is read and changed through, and the schema it stands at."""

from __future__ import annotations

import contextlib
import getpass
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from logbook.store.engine import in_silence, spoken
from logbook.store.errors import StoreError
from logbook.store.ours import APPLICATION_ID, is_log
from logbook.store.targets import Target, is_clear, storable, without_addresses

if TYPE_CHECKING:
    from logbook.store.changing import Change

# The newest migration; a test holds it to the scripts in migrations/versions.
HEAD = "0026"


class Store:
    """An open log. Close it when done, or use it in a `with`.

    `notice` is told what a person should know (a migration, a wait); `on_commit` is called when
    something has been written for good.
    """

    def __init__(
        self,
        target: Target,
        engine: Engine,
        notice: Callable[[str], None] = in_silence,
        on_commit: Callable[[], None] = lambda: None,
    ) -> None:
        self.target = target
        self.notice = notice
        self.on_commit = on_commit
        self._engine = engine
        self._kept: _Kept | None = None

    @property
    def engine(self) -> Engine:
        """What connections to the database come from."""
        self.keep(None)
        return self._engine

    def keep(self, connection: Connection | None) -> None:
        """Leave a connection to who reads first, in the place of one that was left before.

        SQLite reads the declaration of every table for each connection, which takes longer than
        what most commands read. One is only ever kept between opening a log in a file and the
        first thing that is done with it, since nothing else may open and close that file
        meanwhile: to close it gives up all of a process's locks on it.
        """
        kept, self._kept = self._kept, None
        if kept is not None and kept.process == os.getpid():
            kept.connection.close()
        if connection is not None:
            assert self.path is not None
            connection.rollback()
            self._kept = _Kept(connection, os.getpid(), _file_at(self.path))

    def _connect(self) -> Connection:
        kept = self._kept
        if kept is None or self.path is None:
            return self.engine.connect()
        if (kept.process, kept.file) != (os.getpid(), _file_at(self.path)):
            return self.engine.connect()
        self._kept = None
        return kept.connection

    @property
    def dialect(self) -> str:
        """The kind of database, "sqlite" or "postgresql"."""
        return self.target.dialect

    @property
    def path(self) -> Path | None:
        """The database's file, or None on PostgreSQL."""
        return self.target.path

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one moment of the log, whatever others write meanwhile."""
        with spoken(), self._connect() as connection:
            if self.dialect == "postgresql":
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            yield connection

    @contextlib.contextmanager
    def change(self, command: str, *, who: str | None = None) -> Iterator[Change]:
        """One transaction that writes: all of it or nothing, recorded under `command`.

        `who` is LOGBOOK_USER or the name on the computer if not given. What is written goes
        into the history row by row; a transaction that changes nothing leaves no trace there.
        """
        from logbook.store.changing import changing

        by = storable(who or whoami())
        command = storable(without_addresses(command))
        with (
            spoken(),
            changing(self.engine, self.dialect, command, by, notice=self.notice) as change,
        ):
            yield change
        if change.count:
            self.on_commit()

    def close(self) -> None:
        """Give the database back."""
        self.keep(None)
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class _Kept(NamedTuple):
    """A connection that was left open, by which process, and to which file."""

    connection: Connection
    process: int
    file: tuple[int, int] | None


def _file_at(path: Path) -> tuple[int, int] | None:
    """What tells the file at a path from another one that is put there; None for no file."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def whoami() -> str:
    """LOGBOOK_USER, or the name on the computer."""
    named = os.environ.get("LOGBOOK_USER", "").strip()
    if named:
        return named
    try:
        return getpass.getuser() or "somebody"
    except (OSError, KeyError, ImportError):
        return "somebody"


def revision(store: Store, *, keep: bool = False) -> str | None:
    """The migration the database stands at, None for an empty one.

    With `keep` the connection to a log is left to who reads it first. Raises StoreError for a
    database that holds something else.
    """
    foreign = StoreError(
        f"{store.target.shown} is a database, but not a log",
        "name another with --db or LOGBOOK_DB; this one was left as it is",
    )
    with contextlib.ExitStack() as stack:
        connection = stack.enter_context(_connected(store))
        tables = {row[0] for row in connection.exec_driver_sql(_HELD[store.dialect])}
        if "alembic_version" in tables:
            found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
            if found is not None:
                if not is_log(connection.exec_driver_sql, store.dialect):
                    raise foreign
                if keep:
                    store.keep(connection)
                    stack.pop_all()
                return str(found)
        if store.dialect == "sqlite":
            for pragma, usual in (("application_id", (0, APPLICATION_ID)), ("user_version", (0,))):
                if connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() not in usual:
                    raise foreign
        # A log that was taken back before its first step holds what it put away, and no more.
        if tables and (
            any(name != "alembic_version" and not name.startswith("kept_") for name in tables)
            or not is_log(connection.exec_driver_sql, store.dialect, put_away=True)
        ):
            raise foreign
    return None


# What there is in a database but for what the database and its extensions put there.
_HELD = {
    "sqlite": "SELECT name FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
    " AND type IN ('table', 'view')",
    "postgresql": "SELECT c.relname FROM pg_class c WHERE c.relkind IN ('r', 'p', 'v', 'm', 'f')"
    " AND c.relnamespace = current_schema()::regnamespace AND NOT EXISTS (SELECT 1 FROM pg_depend d"
    " WHERE d.classid = 'pg_class'::regclass AND d.objid = c.oid AND d.deptype = 'e')",
}


def _connected(store: Store) -> Connection:
    try:
        return store.engine.connect()
    except DBAPIError as error:
        if store.dialect == "sqlite":
            raise
        # What the driver took for a server's name may be half a password.
        said = str(error.orig) if is_clear(store.target.url) else "its address is not clear"
        first = without_addresses(" ".join(said.split("\n")[0].split()))
        raise StoreError(
            f"the database at {store.target.shown} cannot be reached ({first})",
            "see whether the server runs, and whether the name and password are right (PGPASSFILE"
            " names a file that keeps the password out of sight)",
        ) from error
