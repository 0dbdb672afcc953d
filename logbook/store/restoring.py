"""Bringing a copy of the log back, over the log that is there or in a damaged one's place."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from logbook.store.backup import copy_pages, examine, is_database, moment, put_aside, read_only
from logbook.store.engine import spoken, writing
from logbook.store.errors import StoreError
from logbook.store.exchange import replace_log
from logbook.store.here import bookmarks, set_bookmarks
from logbook.store.outlets import whole_file
from logbook.store.queueing import turn
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import Store, whoami
from logbook.store.targets import BUSY_SECONDS


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
            closing(sqlite3.connect(read_only(full), uri=True)) as old,
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
    with closing(sqlite3.connect(read_only(full), uri=True)) as copy:
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
    aside = real.with_name(f"{real.name}.damaged-{moment()}")
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
