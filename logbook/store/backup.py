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
import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from logbook.store.copies import backups_folder, next_name, prune
from logbook.store.engine import spoken, writing
from logbook.store.errors import DamagedError, StoreError, plain
from logbook.store.here import bookmarks, set_bookmarks
from logbook.store.ours import is_log
from logbook.store.outlets import is_plain, whole_file
from logbook.store.queueing import turn
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import Store, whoami
from logbook.store.targets import BUSY_SECONDS


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
        from logbook.store.exchange import export_log

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
        closing(sqlite3.connect(_read_only(source), uri=True, timeout=30)) as old,
        closing(sqlite3.connect(goal)) as new,
    ):
        # All pages in one step: a read transaction, which writers in WAL mode do not mind.
        old.backup(new, pages=-1)
        # The copy is one file that can be carried away, without a log of its own.
        new.execute("PRAGMA journal_mode = DELETE")


def _read_only(path: Path) -> str:
    return f"{path.absolute().as_uri()}?mode=ro"


def examine(path: Path) -> str:
    """What is wrong with a database file, in words; empty if it is sound."""
    try:
        with closing(sqlite3.connect(_read_only(path), uri=True)) as copy:
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
    with closing(sqlite3.connect(_read_only(path), uri=True)) as copy:
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
    goal = folder / next_name(store, _moment(), why)
    backup(store, goal)
    prune(store, goal)
    return goal


def _moment() -> str:
    return datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%S.%fZ")


def restore(store: Store, path: Path) -> Path:
    """Bring an open log back to what the copy at `path` holds, and say where the present one lies.

    The present log is put aside first, while nobody else can write; bookmarks stay as they are.
    Raises StoreError, changing nothing, for a copy that is damaged, newer, or of another kind;
    DamagedError if it is the present log that is damaged.
    """
    full = path.expanduser().absolute()
    if not full.exists():
        raise StoreError(f"there is no file {full}", "name a copy that `backup` made")
    if not is_database(full):
        from logbook.store.exchange import replace_log

        return replace_log(store, full, "before-restore")[1]
    if store.path is not None and full.resolve() == store.path.resolve():
        raise StoreError(f"{full} is the log itself", "name a copy that `backup` made")
    full = _sound(full)
    if store.path is None:
        raise StoreError(
            f"{full} is an SQLite copy, and this log is on PostgreSQL",
            "export that copy and import it here",
        )
    with turn(store.path, "restore", whoami(), store.notice):
        aside = put_aside(store, "before-restore")
        with store.reading() as connection:
            marks = bookmarks(connection)
        with (
            spoken(),
            closing(sqlite3.connect(_read_only(full), uri=True)) as old,
            closing(sqlite3.connect(store.path, timeout=BUSY_SECONDS)) as new,
        ):
            # The pages go over the log's in one transaction of SQLite's own: all or none.
            old.backup(new, pages=-1)
        store.on_commit()
        migrate(store.engine, store.dialect)
        with spoken(), writing(store.engine, store.dialect) as connection:
            set_bookmarks(connection, marks)
    return aside


def _sound(path: Path) -> Path:
    """The full path of a copy that is sound and not newer than this program."""
    full = path.expanduser().absolute()
    problem = examine(full)
    if problem:
        raise StoreError(
            f"{full} cannot be brought back: {problem}", "use another copy; nothing was changed"
        )
    with closing(sqlite3.connect(_read_only(full), uri=True)) as copy:
        found = copy.execute("SELECT version_num FROM alembic_version").fetchone()
    if found is None or found[0] not in revisions():
        raise newer(full)
    return full


def replace_damaged(log: Path, path: Path) -> Path:
    """Put the copy at `path` in a damaged log's place, and the damaged one aside.

    A log that is a symbolic link stays one; what it leads to is replaced. Raises StoreError,
    changing nothing, for a copy that is damaged or newer.
    """
    copy = _sound(path)
    real = log.resolve()
    aside = real.with_name(f"{real.name}.damaged-{_moment()}")
    try:
        with whole_file(real) as part:
            with spoken():
                copy_pages(copy, part)
            try:
                os.link(real, aside)
            except OSError:
                # A file system without hard links.
                shutil.copy2(real, aside)
            for rest in ("-wal", "-shm"):
                real.with_name(real.name + rest).unlink(missing_ok=True)
    except OSError as error:
        raise StoreError(f"{log} cannot be written ({error.strerror})", "") from error
    return aside


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
