"""Copies of the log: made while others write, verified, kept in number, and brought back.

Conventions
-----------
On SQLite a backup is a database file, copied page by page with SQLite's own online backup and
then checked (integrity, references, counts). On PostgreSQL it is the export of `exchange`, read
in one transaction. Either appears complete or not at all. Copies that are made by themselves,
before a migration and before a restore, lie in a folder `backups` beside the log (for
PostgreSQL: in the user's data folder); the last ten are kept.
"""

from __future__ import annotations

import datetime
import os
import re
import sqlite3
from contextlib import closing
from pathlib import Path

from logbook.store.engine import spoken
from logbook.store.errors import DamagedError, StoreError, plain
from logbook.store.schema import migrate, newer, revisions
from logbook.store.store import Store
from logbook.store.targets import BUSY_SECONDS

KEPT = 10
_ASIDE = re.compile(r"-\d{8}T\d{6}\.\d{6}Z-(before|backup)[\w-]*\.(db|jsonl)$")


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
    beside = full.with_name(f".{full.name}.{os.getpid()}.part")
    try:
        with spoken():
            copy_pages(store.path, beside)
        problem = examine(beside)
        if problem:
            raise DamagedError(f"the log is not sound: {problem}", "no copy was kept")
        with beside.open("rb+") as file:
            os.fsync(file.fileno())
        os.replace(beside, full)
    except OSError as error:
        raise StoreError(
            f"{full} cannot be written ({error.strerror})", "name another file; none was kept"
        ) from error
    except sqlite3.Error as error:
        raise plain(error) from error
    finally:
        for rest in ("", "-wal", "-shm", "-journal"):
            beside.with_name(beside.name + rest).unlink(missing_ok=True)
    return full


def copy_pages(source: Path, goal: Path) -> None:
    """Copy a database file as it is at one moment, whoever writes to it meanwhile."""
    with (
        closing(sqlite3.connect(f"{source.as_uri()}?mode=ro", uri=True, timeout=30)) as old,
        closing(sqlite3.connect(goal)) as new,
    ):
        # All pages in one step: a read transaction, which writers in WAL mode do not mind.
        old.backup(new, pages=-1)
        # The copy is one file that can be carried away, without a log of its own.
        new.execute("PRAGMA journal_mode = DELETE")


def examine(path: Path) -> str:
    """What is wrong with a database file, in words; empty if it is sound."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as copy:
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
            if "alembic_version" not in tables:
                return "it is not a log"
            for table in tables:
                copy.execute(f'SELECT COUNT(*) FROM "{table}" NOT INDEXED').fetchone()
    except (sqlite3.Error, UnicodeDecodeError) as error:
        return f"it cannot be read as a log ({error})"
    return ""


def counts(path: Path) -> dict[str, int]:
    """How many rows of what a database file holds."""
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as copy:
        names = [
            row[0]
            for row in copy.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            )
        ]
        return {
            name: copy.execute(f'SELECT COUNT(*) FROM "{name}"').fetchone()[0] for name in names
        }


def backups_folder(store: Store) -> Path:
    """Where copies that are made by themselves lie."""
    if store.path is not None:
        return store.path.parent / "backups"
    from platformdirs import user_data_path

    return Path(user_data_path("session-logbook", appauthor=False)) / "backups"


def put_aside(store: Store, why: str) -> Path:
    """Make a verified copy among those put aside, and let the oldest ones go."""
    folder = backups_folder(store)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"no copy can be put aside in {folder} ({error.strerror})",
            "nothing was changed; make the folder writable",
        ) from error
    suffix = ".jsonl" if store.path is None else ".db"
    moment = datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    goal = folder / f"{_stem(store)}-{moment}-{why}{suffix}"
    backup(store, goal)
    for old in kept(store)[KEPT:]:
        old.unlink(missing_ok=True)
    return goal


def _stem(store: Store) -> str:
    """The name of the log without its folder or server, fit for a file's name."""
    if store.path is not None:
        return store.path.stem
    return re.sub(r"\W+", "-", store.target.said.rpartition("/")[2]) or "log"


def kept(store: Store) -> list[Path]:
    """The copies put aside for this log, the newest first."""
    stem = _stem(store)
    folder = backups_folder(store)
    if not folder.is_dir():
        return []
    found = [
        path
        for path in folder.iterdir()
        if path.name.startswith(f"{stem}-") and _ASIDE.fullmatch(path.name[len(stem) :])
    ]
    return sorted(found, key=lambda path: path.name, reverse=True)


def restore(store: Store, path: Path) -> Path:
    """Bring an open log back to what the copy at `path` holds, and say where the present one lies.

    The present log is put aside first. Raises StoreError, changing nothing, for a copy that is
    damaged, newer, or of another kind; DamagedError if it is the present log that is damaged.
    """
    full = path.expanduser().absolute()
    if not full.is_file():
        raise StoreError(f"there is no file {full}", "name a copy that `backup` made")
    if not is_database(full):
        from logbook.store.exchange import import_log, read_header

        header = read_header(full)
        if header.schema not in revisions():
            raise newer(full)
        aside = put_aside(store, "before-restore")
        import_log(store, full, replace=True)
        return aside
    if store.path is not None and full.resolve() == store.path.resolve():
        raise StoreError(f"{full} is the log itself", "name a copy that `backup` made")
    full = _sound(full)
    if store.path is None:
        raise StoreError(
            f"{full} is an SQLite copy, and this log is on PostgreSQL",
            "export that copy and import it here",
        )
    aside = put_aside(store, "before-restore")
    with (
        spoken(),
        closing(sqlite3.connect(f"{full.as_uri()}?mode=ro", uri=True)) as old,
        closing(sqlite3.connect(store.path, timeout=BUSY_SECONDS)) as new,
    ):
        # The pages go over the log's in one transaction of SQLite's own: all or none.
        old.backup(new, pages=-1)
    migrate(store.engine, store.dialect)
    return aside


def _sound(path: Path) -> Path:
    """The full path of a copy that is sound and not newer than this program."""
    full = path.expanduser().absolute()
    problem = examine(full)
    if problem:
        raise StoreError(
            f"{full} cannot be brought back: {problem}", "use another copy; nothing was changed"
        )
    with closing(sqlite3.connect(f"{full.as_uri()}?mode=ro", uri=True)) as copy:
        found = copy.execute("SELECT version_num FROM alembic_version").fetchone()
    if found is None or found[0] not in revisions():
        raise newer(full)
    return full


def replace_damaged(log: Path, path: Path) -> Path:
    """Put the copy at `path` in a damaged log's place, and say where the damaged one lies.

    Raises StoreError, changing nothing, for a copy that is damaged too, or newer.
    """
    copy = _sound(path)
    beside = log.with_name(f".{log.name}.{os.getpid()}.part")
    moment = datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    aside = log.with_name(f"{log.name}.damaged-{moment}")
    try:
        with spoken():
            copy_pages(copy, beside)
        os.link(log, aside)
        for rest in ("-wal", "-shm"):
            log.with_name(log.name + rest).unlink(missing_ok=True)
        os.replace(beside, log)
    except OSError as error:
        raise StoreError(f"{log} cannot be written ({error.strerror})", "") from error
    finally:
        beside.unlink(missing_ok=True)
    return aside


def is_database(path: Path) -> bool:
    """Whether a file is an SQLite database, by its first bytes."""
    try:
        with path.expanduser().open("rb") as file:
            return file.read(16) == b"SQLite format 3\x00"
    except OSError as error:
        raise StoreError(f"{path} cannot be read ({error.strerror})", "") from error
