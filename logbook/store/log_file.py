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
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, MetaData, Table, func, literal, select, union_all

from logbook.store.changing import now
from logbook.store.engine import spoken
from logbook.store.errors import StoreError
from logbook.store.models import Base
from logbook.store.outlets import whole_file
from logbook.store.schema import newer
from logbook.store.store import HEAD, Store, revision

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
    counts = _counts(connection, held)
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


def _counts(connection: Connection, held: list[Table]) -> dict[str, int]:
    """How many rows each table has, in the order of the tables; one question for all of them."""
    asked = [
        select(literal(number), func.count()).select_from(table)
        for number, table in enumerate(held)
    ]
    found = {int(number): int(rows) for number, rows in connection.execute(union_all(*asked))}
    return {table.name: found[number] for number, table in enumerate(held)}


def read_header(file: Path, called: Path | None = None) -> Header:
    """Check the whole file, which a person may have `called` otherwise; give what it says first.

    Raises StoreError for a file that is of another kind, damaged, cut off or newer.
    """
    header: Header | None = None
    counts: dict[str, int] = {}
    path = called or file
    for value in lines_of(file, path):
        if header is None:
            header = _header(path, value)
        else:
            name = value.get("table")
            if not isinstance(name, str) or not isinstance(value.get("row"), dict):
                raise damaged(path, "a line of it is not a row")
            counts[name] = counts.get(name, 0) + 1
    if header is None:
        raise damaged(path, "it is empty")
    if counts != {name: count for name, count in header.counts.items() if count}:
        raise damaged(path, "it does not hold as many rows as it says")
    return header


def lines_of(file: Path, called: Path | None = None) -> Iterator[dict[str, Any]]:
    """Every line but the last, which must be the digest of the others."""
    path = called or file
    digest = hashlib.sha256()
    held: bytes | None = None
    try:
        with file.open("rb") as lines:
            for raw in lines:
                if held is not None:
                    digest.update(held)
                    yield _object(path, held)
                held = raw
    except OSError as error:
        raise StoreError(f"{path} cannot be read ({error.strerror})", "") from error
    if held is None:
        raise damaged(path, "it is empty")
    whole = held.endswith(b"\n")
    if not whole or _object(path, held) != {"sha256": digest.hexdigest()}:
        raise damaged(path, "it is cut off, or something in it was altered")


def _object(path: Path, raw: bytes) -> dict[str, Any]:
    try:
        value = json.loads(raw)
    except (ValueError, RecursionError):
        raise damaged(path, "a line of it cannot be read") from None
    if not isinstance(value, dict):
        raise damaged(path, "a line of it cannot be read")
    return value


def _header(path: Path, value: dict[str, Any]) -> Header:
    if value.get("format") != FORMAT:
        raise StoreError(f"{path} is not an exported log", "give a file that `export` wrote")
    schema, counts = value.get("schema"), value.get("counts")
    if value.get("version") != VERSION or not isinstance(schema, str):
        raise newer(path)
    if not isinstance(counts, dict):
        raise damaged(path, "its first line is not whole")
    return Header(schema, str(value.get("made_at", "")), counts)


def damaged(path: Path, why: str) -> StoreError:
    """The error for a file that is not as it was written."""
    return StoreError(
        f"{path} is damaged: {why}", "use another copy; nothing was taken from this one"
    )
