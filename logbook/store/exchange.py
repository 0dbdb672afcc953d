"""The whole log with its history as one JSON Lines file, the same from either database.

The file, format "session-logbook log" version 1
------------------------------------------------
UTF-8, one JSON object a line. The first line is the header: `format`, `version`, `schema` (the
migration the tables stand at), `made_at` (ISO 8601, UTC) and `counts` (rows by table). Then a
line for each row, `{"table": ..., "row": {column: value}}`, tables in an order in which every
row comes after those it refers to, rows by id; texts, whole numbers, decimals, true, false and
null stand for themselves. The last line is the digest of every byte before it:
`{"sha256": "..."}`. A file that ends otherwise is cut off or damaged, and is refused.

Bookmarks (`here`) and what checks remembered (`checked`) are left out: they are no part of it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, MetaData, Table, func, select, text
from sqlalchemy.exc import IntegrityError, StatementError

from logbook.errors import LogbookError
from logbook.store.changing import now
from logbook.store.engine import make_engine, spoken, writing
from logbook.store.errors import StoreError
from logbook.store.here import bookmarks, set_bookmarks
from logbook.store.models import Base
from logbook.store.outlets import is_plain, whole_file
from logbook.store.rowcheck import RowReader, misfit, not_allowed, unread, wrong
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import HEAD, Store, revision, whoami
from logbook.store.targets import file_target

FORMAT = "session-logbook log"
VERSION = 1
LEFT_OUT = frozenset({"here", "checked"})
# What a driver raises for a value that has no place where it was to go.
_MISFITS = (OverflowError, TypeError, ValueError, KeyError, StatementError)


class Header(NamedTuple):
    """What the first line of a file says."""

    schema: str
    made_at: str
    counts: dict[str, int]


def tables() -> list[Table]:
    """The tables that belong to the log, each after those it refers to."""
    return [table for table in Base.metadata.sorted_tables if table.name not in LEFT_OUT]


def tables_there(connection: Connection) -> list[Table]:
    """The same of a log that an older program made, as its database describes them."""
    metadata = MetaData()
    metadata.reflect(connection)
    skipped = LEFT_OUT | {"alembic_version"}
    return [
        table
        for table in metadata.sorted_tables
        if table.name not in skipped and not table.name.startswith("kept_")
    ]


def export_log(store: Store, path: Path) -> dict[str, int]:
    """Write the whole log to `path`, as it is at one moment, and give the counts of its rows.

    The file appears complete or not at all; it is read back and checked before it gets its name.
    A pipe or a device is written into. Raises StoreError when it cannot be written.
    """
    if not path.name:
        raise StoreError("the export has no name", "name a file, or - for standard output")
    if path.is_dir():
        raise StoreError(f"{path} is a folder", "name a file in it")
    with spoken():
        schema = revision(store)
    try:
        with whole_file(path) as part:
            with store.reading() as connection, part.open("wb") as file:
                counts = _write(connection, file, schema or HEAD)
            read_header(part)
    except OSError as error:
        raise StoreError(
            f"{path} cannot be written ({error.strerror})", "give another place; nothing was kept"
        ) from error
    return counts


def _write(connection: Connection, file: Any, schema: str) -> dict[str, int]:
    held = tables() if schema == HEAD else tables_there(connection)
    counts = {
        table.name: int(connection.scalar(select(func.count()).select_from(table)) or 0)
        for table in held
    }
    digest = hashlib.sha256()

    def line(value: dict[str, Any]) -> None:
        raw = json.dumps(value, ensure_ascii=False, allow_nan=False).encode() + b"\n"
        digest.update(raw)
        file.write(raw)

    line(
        {
            "format": FORMAT,
            "version": VERSION,
            "schema": schema,
            "made_at": now(),
            "counts": counts,
        }
    )
    for table in held:
        for row in connection.execute(select(table).order_by(table.c.id)).mappings():
            line({"table": table.name, "row": dict(row)})
    file.write(json.dumps({"sha256": digest.hexdigest()}).encode() + b"\n")
    return counts


def read_header(path: Path) -> Header:
    """Check the whole file and give what its first line says.

    Raises StoreError for a file that is of another kind, damaged, cut off or newer.
    """
    header: Header | None = None
    counts: dict[str, int] = {}
    for value in _lines(path):
        if header is None:
            header = _header(path, value)
        else:
            name = value.get("table")
            if not isinstance(name, str) or not isinstance(value.get("row"), dict):
                raise _damaged(path, "a line of it is not a row")
            counts[name] = counts.get(name, 0) + 1
    if header is None:
        raise _damaged(path, "it is empty")
    if counts != {name: count for name, count in header.counts.items() if count}:
        raise _damaged(path, "it does not hold as many rows as it says")
    return header


def _lines(path: Path) -> Iterator[dict[str, Any]]:
    """Every line but the last, which must be the digest of the others."""
    digest = hashlib.sha256()
    held: bytes | None = None
    try:
        with path.open("rb") as file:
            for raw in file:
                if held is not None:
                    digest.update(held)
                    yield _object(path, held)
                held = raw
    except OSError as error:
        raise StoreError(f"{path} cannot be read ({error.strerror})", "") from error
    if held is None:
        raise _damaged(path, "it is empty")
    whole = held.endswith(b"\n")
    if not whole or _object(path, held) != {"sha256": digest.hexdigest()}:
        raise _damaged(path, "it is cut off, or something in it was altered")


def _object(path: Path, raw: bytes) -> dict[str, Any]:
    try:
        value = json.loads(raw)
    except (ValueError, RecursionError):
        raise _damaged(path, "a line of it cannot be read") from None
    if not isinstance(value, dict):
        raise _damaged(path, "a line of it cannot be read")
    return value


def _header(path: Path, value: dict[str, Any]) -> Header:
    if value.get("format") != FORMAT:
        raise StoreError(f"{path} is not an exported log", "give a file that `export` wrote")
    schema, counts = value.get("schema"), value.get("counts")
    if value.get("version") != VERSION or not isinstance(schema, str):
        raise newer(path)
    if not isinstance(counts, dict):
        raise _damaged(path, "its first line is not whole")
    return Header(schema, str(value.get("made_at", "")), counts)


def _damaged(path: Path, why: str) -> StoreError:
    return StoreError(
        f"{path} is damaged: {why}", "use another copy; nothing was taken from this one"
    )


def import_log(store: Store, path: Path, check: RowReader = unread) -> dict[str, int]:
    """Bring an exported log into an empty one, history and all, and give the counts.

    A file from an older program is brought up to date on the way. Every row is looked at before
    any is written; `check` reads what its fields say and raises LogbookError for the first that is
    wrong. Raises StoreError, changing nothing, for a file that is damaged, wrong or newer, and for
    a log that is not empty.
    """
    with _read_twice(path) as file, _of_today(store, file) as today:
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
    from logbook.store.backup import put_aside

    with _read_twice(path) as file, _of_today(store, file) as today:
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
    for at, value in enumerate(_lines(file)):
        if at == 0:
            continue
        name, row = value["table"], value["row"]
        table = known.get(name)
        if table is None or set(row) != set(table.columns.keys()):
            raise _damaged(path, "a row of it fits no table")
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
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "log.jsonl"
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
        raise _damaged(path, "a row of it fits no table") from error
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

    for at, value in enumerate(_lines(path)):
        if at == 0:
            continue
        table, row = known.get(value["table"]), value["row"]
        if table is None or set(row) != set(table.columns.keys()):
            raise _damaged(path, "a row of it fits no table")
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
def _of_today(store: Store, path: Path) -> Iterator[Path]:
    """The file itself, or, where it has an older schema, one that was brought up to date."""
    schema = read_header(path).schema
    if schema == HEAD:
        yield path
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
                _fill_older(engine, known, path)
                migrate(engine, "sqlite")
            except _MISFITS as error:
                raise _damaged(path, "a row of it fits no table") from error
            today = Path(folder) / "today.jsonl"
            export_log(Store(target, engine, store.notice), today)
        finally:
            engine.dispose()
        yield today


def _fill_older(engine: Engine, known: dict[str, Table], path: Path) -> None:
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for at, value in enumerate(_lines(path)):
            if at:
                table = known.get(value["table"])
                if table is None or not set(value["row"]) <= set(table.columns.keys()):
                    raise _damaged(path, "a row of it fits no table")
                connection.execute(table.insert(), value["row"])
        connection.commit()
