"""Copies of the log: made while others write, verified, and brought back.

Conventions
-----------
On SQLite a backup is a database file, copied page by page with SQLite's own online backup and
then checked (integrity, references, counts). On PostgreSQL it is the export of `exchange`, read
in one transaction. Either appears complete or not at all. Whatever replaces a log stands in the
writers' queue first and puts a copy aside (`put_aside`) while nobody else can write, so that
what others have been told is done is in the log or in the copy. `copies` says where copies that
are made by themselves lie, and how many stay.
"""

from __future__ import annotations

import datetime
import sqlite3
from contextlib import closing
from pathlib import Path

from logbook.store.copies import backups_folder, next_name, prune
from logbook.store.engine import spoken
from logbook.store.errors import DamagedError, StoreError, plain
from logbook.store.log_file import export_log
from logbook.store.ours import is_log
from logbook.store.outlets import is_plain, whole_file
from logbook.store.store import Store


def backup(store: Store, path: Path | None = None) -> Path:
    """Make a verified copy at `path` (None: among the copies put aside), and say where.

    Raises StoreError when it cannot be written or does not pass the checks; then no file stays.
    """
    if path is None:
        return put_aside(store, "backup")
    full = path.expanduser().absolute()
    if full.is_dir():
        raise StoreError(f"{full} is a folder", "name a file in it")
    if store.path is not None and full.resolve() == store.path.resolve():
        raise StoreError(f"{full} is the log itself", "name another file")
    if store.path is None or full.suffix == ".jsonl":
        export_log(store, full)
        return full
    try:
        with whole_file(full) as part:
            with spoken():
                copy_pages(store.path, part)
            problem = examine(part)
            if problem:
                raise DamagedError(f"the log is not sound: {problem}", "no copy was kept")
    except OSError as error:
        raise StoreError(
            f"{full} cannot be written ({error.strerror})", "name another file; none was kept"
        ) from error
    except sqlite3.Error as error:
        raise plain(error) from error
    return full


def copy_pages(source: Path, goal: Path) -> None:
    """Copy a database file as it is at one moment, whoever writes to it meanwhile."""
    with (
        closing(sqlite3.connect(read_only(source), uri=True, timeout=30)) as old,
        closing(sqlite3.connect(goal)) as new,
    ):
        # All pages in one step: a read transaction, which writers in WAL mode do not mind.
        old.backup(new, pages=-1)
        # The copy is one file that can be carried away, without a log of its own.
        new.execute("PRAGMA journal_mode = DELETE")


def read_only(path: Path) -> str:
    """The address by which SQLite opens a file and cannot write to it."""
    return f"{path.absolute().as_uri()}?mode=ro"


def examine(path: Path) -> str:
    """What is wrong with a database file, in words; empty if it is sound."""
    try:
        with closing(sqlite3.connect(read_only(path), uri=True)) as copy:
            found = copy.execute("PRAGMA integrity_check(1)").fetchone()
            if found is None or found[0] != "ok":
                return f"it is damaged ({' '.join(str(found and found[0]).split())})"
            broken = copy.execute("PRAGMA foreign_key_check").fetchall()
            if broken:
                return f"{len(broken)} of its rows refer to what is not there"
            # Every row of every table can be read and counted.
            tables = [
                row[0]
                for row in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            ]
            if "alembic_version" not in tables or not is_log(copy.execute, "sqlite"):
                return "it is not a log"
            for table in tables:
                copy.execute(f'SELECT COUNT(*) FROM "{table}" NOT INDEXED').fetchone()
    except (sqlite3.Error, UnicodeDecodeError) as error:
        return f"it cannot be read as a log ({error})"
    return ""


def counts(path: Path) -> dict[str, int]:
    """How many rows of what a database file holds."""
    with closing(sqlite3.connect(read_only(path), uri=True)) as copy:
        names = [
            row[0]
            for row in copy.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            )
        ]
        return {
            name: copy.execute(f'SELECT COUNT(*) FROM "{name}"').fetchone()[0] for name in names
        }


def put_aside(store: Store, why: str) -> Path:
    """Make a verified copy among those put aside, and let the oldest ones go."""
    folder = backups_folder(store)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"no copy can be put aside in {folder} ({error.strerror})",
            "nothing was changed; make the folder writable",
        ) from error
    goal = folder / next_name(store, moment(), why)
    backup(store, goal)
    prune(store, goal)
    return goal


def moment() -> str:
    """This moment as it stands in the name of a copy, in UTC."""
    return datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%S.%fZ")


def is_database(path: Path) -> bool:
    """Whether a file is an SQLite database, seen by its first bytes; a pipe is none.

    Raises StoreError where it cannot be read.
    """
    if not is_plain(path.expanduser()):
        return False
    try:
        with path.expanduser().open("rb") as file:
            return file.read(16) == b"SQLite format 3\x00"
    except OSError as error:
        raise StoreError(f"{path} cannot be read ({error.strerror})", "") from error
