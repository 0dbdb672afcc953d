"""Reading an exported log back, into an empty log or over one.

`log_file` says how the file is written.
"""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, select, text
from sqlalchemy.exc import IntegrityError, StatementError

from logbook.errors import LogbookError
from logbook.store.backup import put_aside
from logbook.store.engine import make_engine, spoken, writing
from logbook.store.errors import StoreError
from logbook.store.here import bookmarks, set_bookmarks
from logbook.store.log_file import damaged, export_log, lines_of, read_header, tables, tables_there
from logbook.store.models import Base
from logbook.store.outlets import is_plain, scratch_file
from logbook.store.rowcheck import RowReader, misfit, not_allowed, unread, wrong
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import HEAD, Store, whoami
from logbook.store.targets import file_target

# What a driver raises for a value that has no place where it was to go.
_MISFITS = (OverflowError, TypeError, ValueError, KeyError, StatementError)


def import_log(store: Store, path: Path, check: RowReader = unread) -> dict[str, int]:
    """Bring an exported log into an empty one, history and all, and give the counts.

    A file from an older program is brought up to date on the way. Every row is looked at before
    any is written; `check` reads what its fields say and raises LogbookError for the first that is
    wrong. Raises StoreError, changing nothing, for a file that is damaged, wrong or newer, and for
    a log that is not empty.
    """
    with _read_twice(path) as file, _of_today(store, path, file) as today:
        header = read_header(today)
        check_rows(path, today, check)
        with _writing(store, "import-log") as connection:
            if any(connection.scalar(select(table.c.id).limit(1)) for table in tables()):
                raise StoreError(
                    "the log is not empty, and an exported log can only be brought into an empty"
                    " one",
                    "name a new one with --db, or restore over this one",
                )
            _fill_checked(connection, today, store.dialect)
    store.on_commit()
    return header.counts


def replace_log(
    store: Store, path: Path, why: str, check: RowReader = unread
) -> tuple[dict[str, int], Path]:
    """Put an exported log in the place of all that is there; give the counts and the copy.

    What was there is put aside first, by a verified copy made while nobody else can write;
    bookmarks stay. Rows are looked at as by `import_log`. Raises StoreError, changing nothing,
    for a file that is damaged, wrong or newer.
    """
    with _read_twice(path) as file, _of_today(store, path, file) as today:
        header = read_header(today)
        check_rows(path, today, check)
        with _writing(store, "import-log") as connection:
            aside = put_aside(store, why)
            marks = bookmarks(connection)
            empty(connection)
            _fill_checked(connection, today, store.dialect)
            set_bookmarks(connection, marks)
    store.on_commit()
    return header.counts, aside


def check_rows(path: Path, file: Path, check: RowReader) -> None:
    """See that every row of `file` fits its table and reads; `path` is what it is called.

    Raises StoreError that names the table, the row, the field and what would be right.
    """
    known = {table.name: table for table in tables()}
    for at, value in enumerate(lines_of(file)):
        if at == 0:
            continue
        name, row = value["table"], value["row"]
        table = known.get(name)
        if table is None or set(row) != set(table.columns.keys()):
            raise damaged(path, "a row of it fits no table")
        try:
            wrong(table, row)
            check(name, row)
        except LogbookError as error:
            raise misfit(path, name, row.get("id"), error) from error


@contextlib.contextmanager
def _writing(store: Store, command: str) -> Iterator[Connection]:
    with (
        spoken(),
        writing(
            store.engine, store.dialect, command=command, who=whoami(), notice=store.notice
        ) as connection,
    ):
        yield connection


@contextlib.contextmanager
def _read_twice(path: Path) -> Iterator[Path]:
    """The file at `path`, or a copy of what a pipe gives, which can be read only once."""
    full = path.expanduser()
    if is_plain(full):
        yield full
        return
    with scratch_file("given.jsonl") as kept:
        try:
            with full.open("rb") as given, kept.open("wb") as file:
                shutil.copyfileobj(given, file)
        except OSError as error:
            raise StoreError(f"{path} cannot be read ({error.strerror})", "") from error
        yield kept


def _fill_checked(connection: Connection, path: Path, dialect: str) -> None:
    try:
        _fill(connection, path)
    except StoreError:
        raise
    except _MISFITS as error:
        raise damaged(path, "a row of it fits no table") from error
    _set_sequences(connection, dialect)


def empty(connection: Connection) -> None:
    """Take every row out, bookmarks too."""
    for table in reversed(Base.metadata.sorted_tables):
        if table.name == "command":
            connection.execute(table.update().values(undone_by=None))
        connection.execute(table.delete())


def _fill(connection: Connection, path: Path) -> None:
    known = {table.name: table for table in tables()}
    waiting: list[dict[str, Any]] = []
    current: Table | None = None
    undone: list[tuple[int, int]] = []

    def flush() -> None:
        if current is not None and waiting:
            try:
                with connection.begin_nested():
                    connection.execute(current.insert(), waiting)
            except IntegrityError:
                _one_by_one(connection, current, waiting, path)
            waiting.clear()

    for at, value in enumerate(lines_of(path)):
        if at == 0:
            continue
        table, row = known.get(value["table"]), value["row"]
        if table is None or set(row) != set(table.columns.keys()):
            raise damaged(path, "a row of it fits no table")
        if table is not current or len(waiting) >= 500:
            flush()
        current = table
        if table.name == "command" and row["undone_by"] is not None:
            # The command that took it back comes later in the file.
            undone.append((row["id"], row["undone_by"]))
            row["undone_by"] = None
        waiting.append(row)
    flush()
    command = known["command"]
    for row_id, by in undone:
        connection.execute(command.update().where(command.c.id == row_id).values(undone_by=by))


def _one_by_one(
    connection: Connection, table: Table, rows: list[dict[str, Any]], path: Path
) -> None:
    """Find the row that the tables do not allow, and name it."""
    for row in rows:
        try:
            connection.execute(table.insert(), row)
        except IntegrityError as error:
            raise misfit(path, table.name, row["id"], not_allowed(error)) from error


def _set_sequences(connection: Connection, dialect: str) -> None:
    """Let no number be given out again that a row has, or had before it was removed."""
    if dialect == "sqlite":
        connection.exec_driver_sql("DELETE FROM sqlite_sequence")
    for table in tables():
        name = table.name
        if dialect == "sqlite":
            connection.execute(
                text(
                    "INSERT INTO sqlite_sequence (name, seq) SELECT :name, MAX("
                    f'(SELECT COALESCE(MAX(id), 0) FROM "{name}"),'
                    " (SELECT COALESCE(MAX(row_id), 0) FROM change WHERE kind = :name))"
                ),
                {"name": name},
            )
            continue
        connection.exec_driver_sql(
            f"SELECT setval(pg_get_serial_sequence('\"{name}\"', 'id'), GREATEST(1,"
            f' (SELECT COALESCE(MAX(id), 0) FROM "{name}"),'
            f" (SELECT COALESCE(MAX(row_id), 0) FROM change WHERE kind = '{name}')))"
        )


@contextlib.contextmanager
def _of_today(store: Store, path: Path, file: Path) -> Iterator[Path]:
    """The file itself, or, where it has an older schema, one that was brought up to date.

    `path` is what a person calls it.
    """
    schema = read_header(file, path).schema
    if schema == HEAD:
        yield file
        return
    if schema not in revisions():
        raise newer(path)
    with tempfile.TemporaryDirectory() as folder:
        target = file_target(Path(folder) / "older.db")
        engine = make_engine(target)
        try:
            migrate(engine, "sqlite", schema)
            with engine.connect() as connection:
                known = {table.name: table for table in tables_there(connection)}
            try:
                _fill_older(engine, known, file)
                migrate(engine, "sqlite")
            except _MISFITS as error:
                raise damaged(path, "a row of it fits no table") from error
            today = Path(folder) / "today.jsonl"
            export_log(Store(target, engine, store.notice), today)
        finally:
            engine.dispose()
        yield today


def _fill_older(engine: Engine, known: dict[str, Table], path: Path) -> None:
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for at, value in enumerate(lines_of(path)):
            if at:
                table = known.get(value["table"])
                if table is None or not set(value["row"]) <= set(table.columns.keys()):
                    raise damaged(path, "a row of it fits no table")
                connection.execute(table.insert(), value["row"])
        connection.commit()
