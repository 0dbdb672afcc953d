"""Opening the log: find it, make it, bring it up to date, bring it back, and hand out a Store."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from logbook.store.engine import OPENERS, in_silence, make_engine, spoken
from logbook.store.errors import DamagedError, StoreError
from logbook.store.journal import is_in_wal, leave_wal, settle
from logbook.store.private import create as create_private
from logbook.store.queueing import turn
from logbook.store.store import HEAD, Store, revision, whoami
from logbook.store.targets import read_target


def open_log(
    target: str | None = None,
    *,
    create: bool = True,
    notice: Callable[[str], None] = in_silence,
    on_commit: Callable[[], None] = lambda: None,
) -> Store:
    """Open the log at `target` (see `targets.read_target`), made first if there is none.

    An older log is migrated after a copy was put aside, and `notice` is told so; `on_commit` is
    called whenever something has been written for good. Raises
    StoreError when there is no log and `create` is False, when the log comes from a newer
    program, is damaged, or cannot be reached or written; then nothing was changed.
    """
    meant = read_target(target)
    if meant.path is not None:
        _see_to_folder(meant.path, create)
    store = Store(meant, make_engine(meant), notice, on_commit)
    try:
        with spoken():
            in_wal = meant.path is not None and is_in_wal(meant.path)
            try:
                found = revision(store, keep=in_wal)
            except SQLAlchemyError:
                # A log in WAL mode may lie in a folder that does not allow that.
                if meant.path is None or not leave_wal(meant.path):
                    raise
                in_wal, found = False, revision(store)
            if found != HEAD:
                _bring_up_to_date(store, found, create=create)
            if meant.path is not None and not in_wal:
                settle(store.engine, notice)
    except BaseException:
        store.close()
        raise
    return store


def _see_to_folder(path: Path, create: bool) -> None:
    try:
        if path.is_dir():
            raise StoreError(f"{path} is a folder, not a log", "name a file in it")
        if path.exists():
            return
    except OSError as error:
        raise StoreError(
            f"{path} cannot be looked at ({error.strerror})", "name another"
        ) from error
    if not create:
        raise StoreError(f"there is no log at {path}", "give the path of an existing one")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            f"the folder {path.parent} cannot be made ({error.strerror})",
            "name another place with --db or LOGBOOK_DB",
        ) from error
    # Where this fails, opening the database says why.
    with contextlib.suppress(OSError):
        create_private(path)


def _bring_up_to_date(store: Store, found: str | None, *, create: bool) -> None:
    """Make the tables, or migrate them from revision `found` after putting a copy aside.

    Of several programs that open an old log at once, one does so; the others find it done.
    """
    from logbook.store.schema import revisions

    if found is None and not create and store.path is None:
        raise StoreError(f"there is no log at {store.target.shown}", "make one first")
    known = revisions()
    if found is None or found in known:
        with _alone(store):
            found = revision(store)
            if found != HEAD:
                _migrate(store, found)
        return
    raise StoreError(
        f"the log at {store.target.shown} was written by a newer program (schema {found}; this"
        f" one knows up to {HEAD})",
        "install the newer session-logbook; the log was left as it is",
    )


@contextlib.contextmanager
def _alone(store: Store) -> Iterator[None]:
    """While this lasts, no other program brings this log up to date."""
    if store.path is not None:
        with turn(store.path, "migration", whoami(), store.notice):
            yield
        return
    with store.engine.connect() as connection:
        connection.exec_driver_sql(f"SELECT pg_advisory_lock({OPENERS})")
        connection.commit()
        try:
            yield
        finally:
            connection.exec_driver_sql(f"SELECT pg_advisory_unlock({OPENERS})")
            connection.commit()


def _migrate(store: Store, found: str | None) -> None:
    from alembic.util import CommandError

    from logbook.store.backup import put_aside
    from logbook.store.schema import migrate

    if found is None:
        migrate(store.engine, store.dialect)
        return
    kept = put_aside(store, f"before-{HEAD}")
    store.notice(f"This log is from an older program. A copy was put aside at {kept}.")
    try:
        migrate(store.engine, store.dialect)
    except CommandError as error:
        raise StoreError(f"the log could not be brought up to date ({error})", "") from error
    store.notice(f"The log was brought up to date (schema {found} to {HEAD}).")


def restore_log(
    target: str | None,
    path: Path,
    *,
    notice: Callable[[str], None] = in_silence,
    on_commit: Callable[[], None] = lambda: None,
) -> Path:
    """Bring the log at `target` back to the copy at `path`, even if the log is damaged.

    Gives the place where what was there lies now. Raises StoreError, changing nothing, for a
    copy that is damaged, newer, or of another kind.
    """
    from logbook.store.backup import is_database
    from logbook.store.restoring import replace_damaged, restore

    try:
        with open_log(target, notice=notice, on_commit=on_commit) as store:
            return restore(store, path)
    except DamagedError:
        meant = read_target(target)
        if meant.path is None or not meant.path.is_file() or not is_database(path):
            raise
        return replace_damaged(meant.path, path)
