"""How an SQLite log keeps its writes whole: in WAL mode, or with a rollback journal where a folder
has no memory that processes share.

Conventions
-----------
WAL mode needs a file that all who have the log open map into memory. Network shares and many FUSE
folders have none. There SQLite goes on with its rollback journal, which keeps each write whole but
needs locks that all machines honour: it is safe for one machine at a time, and the user is told
so, once for each log (its `user_version` remembers that). A log that comes from another folder in
WAL mode is taken out of it, and goes back into it where it can.
"""

from __future__ import annotations

import contextlib
import mmap
import sqlite3
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine

ONE_MACHINE = (
    "The log lies in a folder without shared memory (a network share, perhaps): it is safe for"
    " one machine at a time, so let no other one write to it meanwhile."
)
_TOLD = 1
# What SQLite says where a file system has no shared memory maps or no locks for them.
_NO_SHARED_MEMORY = ("locking protocol", "unable to open database file", "disk I/O error")
_IN_WAL = b"\x02"  # in the 19th byte of the file (the SQLite file format, section 1.3.3)


def settle(engine: Engine, notice: Callable[[str], None]) -> None:
    """Have a log in WAL mode where its folder allows, and tell the user once where it does not."""
    with engine.connect() as connection:
        if connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal":
            return
        told = connection.exec_driver_sql("PRAGMA user_version").scalar() == _TOLD
    went = use_wal(engine, attempts=1 if told else 200)
    if went == told:
        if not told:
            notice(ONE_MACHINE)
        _remember(engine, 0 if told else _TOLD)


def _remember(engine: Engine, told: int) -> None:
    # Where that cannot be written it is said again.
    with contextlib.suppress(sqlite3.Error), engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert raw is not None
        raw.execute(f"PRAGMA user_version = {told:d}")


def shares_memory(folder: Path) -> bool:
    """Try whether processes can share memory by a file of this folder.

    SQLite finds out only after it has written that the log is in WAL mode, and whoever opens the
    log in that moment fails. Where nothing may be written at all, that is SQLite's to say.
    """
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.truncate(mmap.PAGESIZE)
            return _can_be_mapped(file.fileno())
    except OSError:
        return True


def _can_be_mapped(file: int) -> bool:
    try:
        mmap.mmap(file, mmap.PAGESIZE).close()
    except OSError:
        return False
    return True


def hold_up_writers(connection: Connection) -> bool:
    """Whether nobody can write while somebody reads: a file of SQLite's that is not in WAL mode."""
    if connection.dialect.name != "sqlite":
        return False
    return connection.exec_driver_sql("PRAGMA journal_mode").scalar() != "wal"


def use_wal(engine: Engine, attempts: int = 200) -> bool:
    """Set an SQLite file to WAL mode, which it then stays in, and say whether that went."""
    path = Path(str(engine.url.database))
    if not shares_memory(path.parent):
        return False
    # Several first commands may come at once; SQLite does not wait for this switch by itself.
    for attempt in range(attempts):
        with engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert raw is not None
            try:
                mode = raw.execute("PRAGMA journal_mode = WAL").fetchone()[0]
                # Some folders let the switch pass, and fail at the first page read after it.
                raw.execute("PRAGMA schema_version").fetchone()
            except sqlite3.OperationalError as error:
                if any(sign in str(error) for sign in _NO_SHARED_MEMORY):
                    break
                if "locked" not in str(error) or (attempt == attempts - 1 and attempts > 1):
                    raise
            else:
                return bool(mode == "wal")
        time.sleep(0.05 if attempts > 1 else 0)
    engine.dispose()
    leave_wal(path)
    return False


def is_in_wal(path: Path) -> bool:
    """Whether a file is a log in WAL mode. Not to be asked while this process has it open.

    Asking the file spares a connection, which reads every table's declaration first.
    """
    try:
        with path.open("rb") as file:
            return file.read(20)[18:19] == _IN_WAL
    except OSError:
        return False


def leave_wal(path: Path) -> bool:
    """Take a log out of WAL mode whose folder has no shared memory; say whether that was it.

    Nobody else may have it open meanwhile, which SQLite sees to.
    """
    try:
        if not is_in_wal(path):
            return False
        with closing(sqlite3.connect(path)) as log:
            try:
                log.execute("PRAGMA schema_version").fetchone()
                return False
            except sqlite3.OperationalError as error:
                if not any(sign in str(error) for sign in _NO_SHARED_MEMORY):
                    return False
        with closing(sqlite3.connect(path)) as log:
            # By itself alone it needs no shared memory.
            log.execute("PRAGMA locking_mode = EXCLUSIVE")
            left = bool(log.execute("PRAGMA journal_mode = DELETE").fetchone()[0] == "delete")
        with contextlib.suppress(OSError):
            path.with_name(f"{path.name}-shm").unlink()
        return left
    except (OSError, sqlite3.Error):
        return False
