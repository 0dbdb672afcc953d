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

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, MetaData, Table, func, select, text
from sqlalchemy.exc import StatementError

from logbook.store.changing import now
from logbook.store.engine import make_engine, spoken, writing
from logbook.store.errors import StoreError
from logbook.store.models import Base
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import HEAD, Store, revision
from logbook.store.targets import file_target

FORMAT = "session-logbook log"
VERSION = 1
LEFT_OUT = frozenset({"here", "checked"})


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
    Raises StoreError when it cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    with spoken():
        schema = revision(store)
    try:
        with store.reading() as connection, beside.open("wb") as file:
            counts = _write(connection, file, schema or HEAD)
            file.flush()
            os.fsync(file.fileno())
        read_header(beside)
        os.replace(beside, path)
    except OSError as error:
        raise StoreError(
            f"{path} cannot be written ({error.strerror})", "give another place; nothing was kept"
        ) from error
    finally:
        beside.unlink(missing_ok=True)
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
                raise _damaged(path, "a line of it is no row")
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


def import_log(store: Store, path: Path, *, replace: bool = False) -> dict[str, int]:
    """Bring an exported log into an empty one, history and all, and give the counts.

    With `replace` what is in the log goes first, in the same transaction. A file from an older
    program is brought up to date on the way. Raises StoreError, changing nothing, for a file that
    is damaged or newer, and for a log that is not empty.
    """
    header = read_header(path)
    if header.schema != HEAD:
        return _import_older(store, path, header.schema, replace=replace)
    with spoken(), writing(store.engine, store.dialect) as connection:
        if replace:
            empty(connection)
        elif any(connection.scalar(select(table.c.id).limit(1)) for table in tables()):
            raise StoreError(
                "the log is not empty, and an exported log can only be brought into an empty one",
                "name a new one with --db, or restore over this one",
            )
        try:
            _fill(connection, path)
        except (OverflowError, TypeError, ValueError, KeyError, StatementError) as error:
            if isinstance(error, StoreError):
                raise
            raise _damaged(path, "a row of it fits no table") from error
        _set_sequences(connection, store.dialect)
    return header.counts


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
            connection.execute(current.insert(), waiting)
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


def _import_older(store: Store, path: Path, schema: str, *, replace: bool) -> dict[str, int]:
    """Read a file of an older schema into a database of that schema, migrate it, and go on."""
    import tempfile

    if schema not in revisions():
        raise newer(path)
    with tempfile.TemporaryDirectory() as folder:
        target = file_target(Path(folder) / "older.db")
        engine = make_engine(target)
        try:
            migrate(engine, "sqlite", schema)
            with engine.connect() as connection:
                known = {table.name: table for table in tables_there(connection)}
            with engine.connect() as connection:
                connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
                for at, value in enumerate(_lines(path)):
                    if at:
                        table = known.get(value["table"])
                        if table is None or not set(value["row"]) <= set(table.columns.keys()):
                            raise _damaged(path, "a row of it fits no table")
                        connection.execute(table.insert(), value["row"])
                connection.commit()
            migrate(engine, "sqlite")
            today = Path(folder) / "today.jsonl"
            export_log(Store(target, engine, store.notice), today)
        finally:
            engine.dispose()
        return import_log(store, today, replace=replace)
