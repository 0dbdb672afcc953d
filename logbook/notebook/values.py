"""Readers of plain values, for both doors: text, numbers, dates, names of things in the log.

Each takes what TOML or the command line gave and returns the record's value. All raise
LogbookError with one sentence on what is wrong and what would be right.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any

from logbook.errors import LogbookError
from logbook.names import closest, pick, quoted
from logbook.notebook.context import Context, Reader, Value
from logbook.notebook.days import read_day, today

LONGEST_TEXT = 100_000
_HALVES = re.compile("[\ud800-\udfff]")


def text(value: Value, context: Context) -> str:
    """Read any text as it stands. A number is taken as it is typed."""
    if isinstance(value, bool) or not isinstance(value, str | int | float | date | time):
        raise LogbookError(f"{shown(value)} is not text", 'put it in quotes, as in "text"')
    body = str(value)
    if "\0" in body or (not body.isascii() and _HALVES.search(body)):
        raise LogbookError("the text holds a character that cannot be stored", "leave it out")
    if len(body) > LONGEST_TEXT:
        raise LogbookError(
            f"the text is {len(body)} characters long", f"keep it under {LONGEST_TEXT}"
        )
    return body


def name(value: Value, context: Context) -> str:
    """Read a name: text that is not blank."""
    body = text(value, context)
    if not body.strip():
        raise LogbookError("the name is empty", "write at least one letter")
    return body


def texts(value: Value, context: Context) -> tuple[str, ...]:
    """Read a list of texts; one text alone is a list of one."""
    items = value if isinstance(value, list | tuple) else [value]
    return tuple(text(item, context) for item in items)


def one_of(*words: str, **also: str) -> Reader:
    """Return a reader of one of these words, by its beginning; `also` are other words for them."""

    def read(value: Value, context: Context) -> str:
        body = " ".join(text(value, context).casefold().replace("_", " ").split())
        if not body:
            return ""
        plain = body.replace(" ", "_").replace("-", "_")
        if plain in also:
            return also[plain]
        if body in words:
            return body
        found = [word for word in words if word.startswith(body)]
        if len(found) == 1:
            return found[0]
        raise LogbookError(f"{quoted(body)} is not one of {', '.join(words)}", "use one")

    return read


def whole(low: int | None = None, high: int | None = None, unit: str = "") -> Reader:
    """Return a reader of a whole number between bounds, with a unit that may be typed after it."""

    def read(value: Value, context: Context) -> int:
        result = _bounded(value, low, high, unit)
        if result != int(result):
            raise LogbookError(f"{shown(value)} is not a whole number", "leave the fraction out")
        return int(result)

    return read


def sample_rate(value: Value, context: Context) -> int:
    """Read a sample rate in hertz; a number below 1000 is kilohertz, as people say it."""
    if isinstance(value, str):
        spoken = value.strip().casefold().removesuffix("hz").rstrip()
        value = spoken.removesuffix("k").rstrip() if spoken.endswith("k") else spoken
    rate = _plain_number(value, "")
    hertz = round(rate * 1000) if 0 < rate < 1000 else rate
    return int(whole(1000, 10_000_000, "hz")(hertz, context))


def number(low: float | None = None, high: float | None = None, unit: str = "") -> Reader:
    """Return a reader of a number between bounds, with a unit that may be typed after it."""

    def read(value: Value, context: Context) -> float:
        return float(_bounded(value, low, high, unit))

    return read


def _bounded(value: Value, low: float | None, high: float | None, unit: str) -> float | int:
    result = _plain_number(value, unit)
    if (low is not None and result < low) or (high is not None and result > high):
        bounds = f"{low:g} or more" if high is None else f"{low or 0:g} to {high:g}"
        raise LogbookError(f"{shown(value)} is out of range", f"write {bounds}")
    return result


def _plain_number(value: Value, unit: str) -> float | int:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise LogbookError(f"{shown(value)} is not a number", "write it in digits")
    if isinstance(value, int):
        return value if abs(value) < 2**63 else _too_big(value)
    if isinstance(value, str):
        body = value.strip()
        if unit and body.casefold().endswith(unit.casefold()):
            body = body[: -len(unit)].strip()
        try:
            value = int(body) if body.lstrip("+-").isdecimal() and len(body) < 20 else float(body)
        except ValueError:
            raise LogbookError(f"{shown(value)} is not a number", "write it in digits") from None
    if not math.isfinite(value):
        raise LogbookError(f"{value} is not a number that can be stored", "write it in digits")
    return float(value) if isinstance(value, float) else int(value)


def _too_big(value: int) -> int:
    raise LogbookError("the number is too big to store", "write a smaller one")


def yes_no(value: Value, context: Context) -> bool:
    """Read a yes or no."""
    if isinstance(value, bool):
        return value
    word = str(value).strip().casefold()
    if word in {"yes", "y", "true", "1", "on"}:
        return True
    if word in {"no", "n", "false", "0", "off"}:
        return False
    raise LogbookError(f"{shown(value)} is neither yes nor no", "write true or false")


def maybe(reader: Reader) -> Reader:
    """Return a reader that takes empty text for "not said" (None)."""

    def read(value: Value, context: Context) -> Any:
        return None if value is None or value == "" else reader(value, context)

    return read


def through(function: Callable[[str], Any]) -> Reader:
    """Return a reader that keeps what a pure room's reader makes of the text, as text."""

    def read(value: Value, context: Context) -> str:
        body = text(value, context)
        return str(function(body)) if body.strip() else ""

    return read


def checked(function: Callable[[str], Any]) -> Reader:
    """Return a reader that keeps the text as written once a pure room could read it."""

    def read(value: Value, context: Context) -> str:
        body = text(value, context).strip()
        if body:
            function(body)
        return body

    return read


def time_of_day(value: Value, context: Context) -> str:
    """Read a time of day, with seconds or without: 14:32, 14:32:05 or TOML's own time."""
    if isinstance(value, time):
        value = value.strftime("%H:%M:%S")
    body = text(value, context).strip()
    found = re.fullmatch(r"(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?", body, re.ASCII)
    if body and (found is None or int(found[1]) > 23 or max(map(int, found.groups("0")[1:])) > 59):
        raise LogbookError(f"{shown(body)} is not a time of day", "write it as in 14:32:05")
    return ":".join(f"{int(each):02d}" for each in found.groups("0")) if found else ""


def iso_date(value: Value, context: Context) -> str:
    """Read a day, "2026-05-02", "today", "2 May" or TOML's own date.

    Also a year or a year and month alone.
    """
    if isinstance(value, datetime):
        value = value.date()
    if isinstance(value, date):
        return value.isoformat()
    body = text(value, context).strip()
    if not body:
        return ""
    digits = body.split("-")
    try:
        if [len(each) for each in digits] == [4] and int(body) >= 1:
            return body
        if [len(each) for each in digits] == [4, 2]:
            date.fromisoformat(f"{body}-01")
            return body
        if [len(each) for each in digits] == [4, 2, 2]:
            return date.fromisoformat(body).isoformat()
    except ValueError:
        pass
    if (day := read_day(body, today())) is not None:
        return day
    raise LogbookError(
        f"{quoted(body)} is not a date",
        "write year, month and day, 2026-05-02, or a day such as today or 2 May",
    )


def known(noun: str) -> Reader:
    """Return a reader of the name of something in the log, by an unambiguous beginning."""

    def read(value: Value, context: Context) -> str:
        body = text(value, context)
        if not body.strip():
            return ""
        key = "title" if noun == "song" else "name"
        remedy = (
            f'add it first: [[{noun}]] with {key} = "{body[:40]}", or logbook {noun} add'
            f" {quoted(body)}"
        )
        return pick(body, context.known.names(noun), noun, remedy)

    return read


def among(names: Callable[[Context], list[str]], what: str) -> Reader:
    """Return a reader of one of the names that the context gives (a part, a section)."""

    def read(value: Value, context: Context) -> str:
        body = text(value, context)
        return pick(body, names(context), what) if body.strip() else ""

    return read


def exact(body: str, names: list[str], what: str, remedy: str) -> str:
    """Return `body` if it is one of the names; raises LogbookError with the closest otherwise."""
    if body in names:
        return body
    near = closest(body, names)
    hint = "did you mean " + " or ".join(map(quoted, near)) + "?" if near else remedy
    raise LogbookError(f"no {what} is called {quoted(body)}", hint)


def shown(value: Value) -> str:
    """Return a value as a sentence can hold it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return quoted(str(value)).strip('"')


def short(value: float) -> float | int:
    """Return a float without its fraction where it has none."""
    return int(value) if value == int(value) and abs(value) < 1e15 else value
