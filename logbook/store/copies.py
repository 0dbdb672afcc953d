"""The copies of a log that lie beside it: how they are named, ordered and let go.

Conventions
-----------
A copy is called LOG-NUMBER-MOMENT-WHY with .db or .jsonl. The number counts the copies of the
log from the first one on, so that their order does not hang on the clock; a copy from before
there were numbers comes before all that have one, in the order of the history it holds. A
PostgreSQL log is called by its server and database. Of the copies that were made by themselves,
before a migration, a restore or a replacement, the last ten are kept; what a person made stays
until a person removes it.
"""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any, NamedTuple

from logbook.store.engine import spoken
from logbook.store.store import Store
from logbook.store.targets import is_clear, without_secrets

KEPT = 10
_ELSEWHERE = re.compile(r"[?&](?:host|hostaddr|port|dbname|service)=")
_NAME = re.compile(
    r"-(?:(?P<number>\d{6,})-)?(?P<moment>\d{8}T\d{6}\.\d{6}Z)"
    r"-(?P<why>(?:before|backup)[\w-]*)\.(?:db|jsonl)"
)


class Copy(NamedTuple):
    """One copy beside the log; `number` is 0 where it has none, `own` if a person made it."""

    path: Path
    number: int
    moment: str
    own: bool


def backups_folder(store: Store) -> Path:
    """Where copies that are made by themselves lie."""
    if store.path is not None:
        return store.path.parent / "backups"
    from platformdirs import user_data_path

    return Path(user_data_path("session-logbook", appauthor=False)) / "backups"


def stem(store: Store) -> str:
    """What the log is called in a file's name: its file, or its server and database."""
    if store.path is not None:
        return store.path.stem
    url = store.target.url
    address = without_secrets(url).partition("://")[2].rpartition("@")[2]
    server, _, database = address.partition("/")
    if not (server and database and is_clear(url)) or _ELSEWHERE.search(url):
        address = _asked(store)
    return re.sub(r"\W+", "-", address).strip("-") or "log"


def _asked(store: Store) -> str:
    """Server, port and database as the client library knows them in the end.

    They may stand in a service file, in the environment or behind the question mark.
    """
    with spoken(), store.engine.connect() as connection:
        raw: Any = connection.connection.driver_connection
        return f"{raw.info.host}:{raw.info.port}/{raw.info.dbname}"


def copies(store: Store) -> list[Copy]:
    """All copies beside this log, the newest first."""
    name = stem(store)
    folder = backups_folder(store)
    if not folder.is_dir():
        return []
    found = []
    for path in folder.iterdir():
        match = _NAME.fullmatch(path.name[len(name) :]) if path.name.startswith(name) else None
        if match is not None:
            own = match["why"] == "backup"
            found.append(Copy(path, int(match["number"] or 0), match["moment"], own))
    return sorted(found, key=_age, reverse=True)


def kept(store: Store) -> list[Path]:
    """The same as paths."""
    return [copy.path for copy in copies(store)]


def next_name(store: Store, moment: str, why: str) -> str:
    """What a copy that is made now is called."""
    number = 1 + max((copy.number for copy in copies(store)), default=0)
    suffix = ".jsonl" if store.path is None else ".db"
    return f"{stem(store)}-{number:06d}-{moment}-{why}{suffix}"


def prune(store: Store, made: Path) -> None:
    """Let go of copies that were made by themselves, but for the last ten and `made`."""
    by_themselves = [copy for copy in copies(store) if not copy.own and copy.path != made]
    for copy in by_themselves[KEPT - 1 :]:
        copy.path.unlink(missing_ok=True)


def _age(copy: Copy) -> tuple[int, int, str, str]:
    commands = 0 if copy.number else _commands(copy.path)
    return copy.number, commands, copy.moment, copy.path.name


def _commands(path: Path) -> int:
    """How long a history a copy holds; 0 where it cannot be read."""
    try:
        if path.suffix == ".jsonl":
            with path.open("rb") as file:
                return int(json.loads(file.readline())["counts"].get("command", 0))
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as copy:
            return int(copy.execute("SELECT COUNT(*) FROM command").fetchone()[0])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, sqlite3.Error):
        return 0
