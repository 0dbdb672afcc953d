"""Whether a row of an exported log fits its table, and saying so where it does not.

Conventions
-----------
A table says of each column what it holds (a whole number, a number, text, yes or no) and whether
it may be empty. What the words in it mean is for the readers of `logbook.notebook.rows`.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, Float, Integer, Table
from sqlalchemy.exc import IntegrityError

from logbook.errors import LogbookError
from logbook.store.errors import StoreError
from logbook.store.finding import noun

RowReader = Callable[[str, Mapping[str, Any]], None]
LONGEST_TEXT = 10_000_000


def unread(_table: str, _row: Mapping[str, Any]) -> None:
    """Take a row as it stands."""


def wrong(table: Table, row: Mapping[str, Any]) -> None:
    """Look at a row's columns. Raises LogbookError for the first that cannot hold its value."""
    for column in table.columns:
        value = row[column.key]
        expected = _expected(column, value)
        if expected:
            shown = json.dumps(value, ensure_ascii=False)
            shown = shown if len(shown) <= 60 else shown[:57] + "..."
            raise LogbookError(f"{column.key} is {shown}", f"it must be {expected}")
    if row["id"] < 1:
        raise LogbookError(f"id is {row['id']}", "it must be 1 or more")
    for counted in ("revision", "position"):
        if row.get(counted, 1) < 0:
            raise LogbookError(f"{counted} is {row[counted]}", "it must be 0 or more")
    if table.name == "command":
        _moment(row["at"])
    if table.name == "change":
        for side in ("before", "after"):
            _columns(side, row[side])


def _expected(column: Column[Any], value: Any) -> str:
    """What must stand in a column, where this value cannot; empty where it can."""
    if value is None:
        return "" if column.nullable else f"{_kind(column)}, and never null"
    kind = column.type
    if isinstance(kind, Boolean):
        fits = isinstance(value, bool)
    elif isinstance(kind, Integer):
        bits = 63 if isinstance(kind, BigInteger) or column.primary_key else 31
        whole = isinstance(value, int) and not isinstance(value, bool)
        fits = whole and -(2**bits) <= value < 2**bits
    elif isinstance(kind, Float):
        number = isinstance(value, int | float) and not isinstance(value, bool)
        fits = number and math.isfinite(value)
    else:
        fits = isinstance(value, str) and len(value) <= LONGEST_TEXT and _can_be_kept(value)
    return "" if fits else _kind(column)


def _kind(column: Column[Any]) -> str:
    if isinstance(column.type, Boolean):
        return "true or false"
    if isinstance(column.type, Integer):
        return "a whole number"
    return "a number" if isinstance(column.type, Float) else "text"


def _can_be_kept(text: str) -> bool:
    return "\0" not in text and not any("\ud800" <= letter <= "\udfff" for letter in text)


def _moment(text: str) -> None:
    try:
        datetime.datetime.fromisoformat(text)
    except ValueError:
        raise LogbookError(
            f"at is {text[:60]!r}", "it must be a moment like 2026-11-25T16:09:53.809Z"
        ) from None


def _columns(side: str, text: str | None) -> None:
    try:
        held = {} if text is None else json.loads(text)
    except (ValueError, RecursionError):
        held = None
    if not isinstance(held, dict):
        raise LogbookError(f"{side} is no object", "it must be the row's columns as JSON, or null")


def misfit(path: Path, table: str, row_id: object, error: LogbookError) -> StoreError:
    """The error that one row of a file is wrong."""
    mend = error.remedy.rstrip(".")
    return StoreError(
        f"{path}: the {noun(table)} in row {row_id} of table {table} is wrong: {error.problem}"
        + (f" ({mend})" if mend else ""),
        "fix that, or use another copy; nothing was taken from this one",
    )


def not_allowed(error: IntegrityError) -> LogbookError:
    """What the tables do not allow, without the words of the database."""
    said = " ".join(str(error.orig).split()).lower()
    if "foreign" in said:
        return LogbookError("it belongs or refers to a row that is not there", "")
    if "unique" in said or "duplicate" in said:
        return LogbookError("it is there twice", "")
    column = said.partition("ck_")[2].split()[0].strip('"') if "ck_" in said else ""
    return LogbookError(
        "one of its fields holds what it may not" + (f" ({column})" if column else ""), ""
    )
