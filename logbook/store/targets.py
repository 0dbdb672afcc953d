"""What --db or LOGBOOK_DB means: a path, a database URL, or nothing at all.

Conventions
-----------
Whatever holds "://" is a URL (SQLite or PostgreSQL), everything else a path. Nothing at all
means the file in the user's data folder (platformdirs). A password may stand in a URL, but is
better kept where the PostgreSQL client library looks for it (PGPASSFILE, a service file); no
sentence, history or file name repeats one.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import NamedTuple

from logbook.store.errors import StoreError

FILE_NAME = "log.db"
BUSY_SECONDS = 30
_EXAMPLES = {"p": "postgresql://user@server/database", "s": "sqlite:///folder/log.db"}


class Target(NamedTuple):
    """A database: its URL, the dialect ("sqlite" or "postgresql"), and its file on SQLite."""

    url: str
    dialect: str
    path: Path | None

    @property
    def shown(self) -> str:
        """How to name it in a sentence, without a password."""
        return str(self.path) if self.path is not None else without_secrets(self.url)


# A PostgreSQL URL as far as it can be told apart with certainty.
_SERVER = r"(?:\[[^\]@/?#]*\]|[^:,@/?#\[\]]*)(?::\d*)?"
_PARTS = re.compile(
    r"(?P<scheme>[a-z0-9+.-]+)://(?:(?P<user>[^:@/?#]*)(?::[^@/?#]*)?@)?"
    rf"(?P<server>{_SERVER}(?:,{_SERVER})*)(?:/(?P<database>[^@/?#]*))?(?:\?[^?#@]*)?",
    re.IGNORECASE,
)
# A kind of database without its "://", a scheme with one slash (no drive's letter), two slashes
# at the start, or a name and a password before a server's.
_MISTYPED = re.compile(
    r"(?:postgres\w*|sqlite|pgsql|mysql|mariadb)(?:\+\w+)?(?::|;|//)|[a-z][a-z0-9+]+:/|//|"
    r"[^@]*[^/@\s]:[^@]*@",
    re.IGNORECASE,
)
_ADDRESS = re.compile(r"(?:postgres(?:ql)?)(?:\+[a-z0-9]+)?:/[^\s\"']*", re.IGNORECASE)


def without_secrets(url: str) -> str:
    """A database URL with its user, server and database, and without everything else.

    Where the URL cannot be told apart with certainty, only its kind is left: a password that
    was not escaped could be anywhere in it.
    """
    found = _PARTS.fullmatch(url)
    if found is None:
        return f"{url.partition(':')[0].partition('+')[0]}://..."
    scheme = found["scheme"].partition("+")[0]
    user = f"{found['user']}@" if found["user"] else ""
    database = f"/{found['database']}" if found["database"] else ""
    return f"{scheme}://{user}{found['server']}{database}"


def is_clear(url: str) -> bool:
    """Whether it is certain which part of a database URL is what, so that none is a password."""
    return _PARTS.fullmatch(url) is not None


def without_addresses(text: str) -> str:
    """`text` with "(address)" in place of every database URL in it."""
    return _ADDRESS.sub("(address)", text)


def storable(text: str) -> str:
    """`text` with a question mark for every character that no database holds."""
    return text.replace("\x00", "?").encode("utf-8", "replace").decode()


def read_target(text: str | None) -> Target:
    """The database meant by `text` (None or empty: LOGBOOK_DB, then the user's data folder).

    Raises StoreError for a URL of a kind that is not known, or that is mistyped.
    """
    given = (text or os.environ.get("LOGBOOK_DB") or "").strip()
    if not given:
        from platformdirs import user_data_path

        return file_target(user_data_path("session-logbook", appauthor=False) / FILE_NAME)
    if storable(given) != given:
        raise StoreError("the log's name holds what no file's name can", "give another with --db")
    scheme, mark, rest = given.partition("://")
    if not mark:
        if re.match(r"(postgres(ql)?|sqlite)(\+\w+)?:", given, re.IGNORECASE):
            kind = given.partition(":")[0]
            raise StoreError(
                f"an address that begins with {kind}: needs two slashes after it",
                f"write it like {_EXAMPLES[kind.lower()[0]]}",
            )
        if re.search(r"\b(password|dbname)\s*=", given):
            raise StoreError(
                "a connection string is not a way to name the log",
                f"write it like {_EXAMPLES['p']}",
            )
        if _MISTYPED.match(given) and not Path(given).expanduser().exists():
            raise StoreError(
                "that looks like a mistyped address of a database, not like a file's path",
                f"write it like {_EXAMPLES['p']}, or a path like ./log.db",
            )
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
