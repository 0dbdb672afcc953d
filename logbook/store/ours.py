"""Whether a database is a log of ours, seen before anything is written into it.

Conventions
-----------
An SQLite file says so with its application id. A log from before there was one, and one on
PostgreSQL, is known by tables that only a log has, column by column; the number of a migration
proves nothing, for other programs count theirs in the same table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

APPLICATION_ID = 0x4C4F4721
"""What SQLite keeps at byte 68 of a log's file."""

# Tables of the first migration, with columns that together nobody else has.
_SIGNS = {
    "song": {"title", "iswc"},
    "version": {"song_id", "key", "sample_rate_hz"},
    "share": {"song_id", "person_id", "numerator", "denominator"},
}

Ask = Callable[[str], Iterable[Sequence[Any]]]
"""Runs one statement and gives its rows."""


def is_log(ask: Ask, dialect: str, *, put_away: bool = False) -> bool:
    """Whether the database that `ask` asks holds a log, of whatever schema.

    `dialect` is "sqlite" or "postgresql"; `put_away` asks for one that was taken back before its
    first schema. Nothing is written.
    """
    if dialect == "sqlite":
        found = next(iter(ask("PRAGMA application_id")))[0]
        if found not in (0, APPLICATION_ID):
            return False
    lead = "kept_" if put_away else ""
    return all(columns <= _columns(ask, dialect, lead + table) for table, columns in _SIGNS.items())


def _columns(ask: Ask, dialect: str, table: str) -> set[str]:
    if dialect == "sqlite":
        return {str(row[1]) for row in ask(f"PRAGMA table_info('{table}')")}
    statement = (
        "SELECT column_name FROM information_schema.columns"
        f" WHERE table_schema = current_schema() AND table_name = '{table}'"
    )
    return {str(row[0]) for row in ask(statement)}
