"""What --db or LOGBOOK_DB means: a path, a database URL, or nothing at all.

Conventions
-----------
Whatever holds "://" is a URL (SQLite or PostgreSQL), everything else a path. Nothing at all
means the file in the user's data folder (platformdirs).
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import NamedTuple

from logbook.store.errors import StoreError

FILE_NAME = "log.db"
BUSY_SECONDS = 30


class Target(NamedTuple):
    """A database: its URL, the dialect ("sqlite" or "postgresql"), and its file on SQLite."""

    url: str
    dialect: str
    path: Path | None

    @property
    def shown(self) -> str:
        """How to name it in a sentence, without a password."""
        if self.path is not None:
            return str(self.path)
        head, at, tail = self.url.rpartition("@")
        if not at:
            return self.url
        scheme, _, user = head.partition("://")
        return f"{scheme}://{user.partition(':')[0]}@{tail}"


def storable(text: str) -> str:
    """`text` with a question mark for every character that no database holds."""
    return text.replace("\x00", "?").encode("utf-8", "replace").decode()


def read_target(text: str | None) -> Target:
    """The database meant by `text` (None or empty: LOGBOOK_DB, then the user's data folder).

    Raises StoreError for a URL of a kind that is not known.
    """
    given = (text or os.environ.get("LOGBOOK_DB") or "").strip()
    if not given:
        from platformdirs import user_data_path

        return file_target(user_data_path("session-logbook", appauthor=False) / FILE_NAME)
    if storable(given) != given:
        raise StoreError("the log's name holds what no file's name can", "give another with --db")
    scheme, mark, rest = given.partition("://")
    if not mark:
        return file_target(Path(given))
    kind = scheme.partition("+")[0].lower()
    if kind == "sqlite":
        path = rest.partition("?")[0].removeprefix("/")
        if not path or path == ":memory:":
            raise StoreError(
                "a log in memory would be gone when the command ends",
                "name a file, e.g. --db sqlite:///log.db",
            )
        return file_target(Path(path))
    if kind in ("postgresql", "postgres"):
        return Target(f"postgresql+psycopg://{rest}", "postgresql", None)
    raise StoreError(
        f"{scheme!r} is not a kind of database the log can be kept in",
        "give a path, or a URL that begins with sqlite:/// or postgresql://",
    )


def file_target(path: Path) -> Target:
    """The SQLite database in the file at `path`."""
    full = path.expanduser().absolute()
    return Target(f"sqlite:///{full}", "sqlite", full)
