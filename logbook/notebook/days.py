"""Days as people say them, and whether a session is going on at one."""

from __future__ import annotations

import datetime
import re

from logbook.errors import LogbookError


def today() -> str:
    """The day it is, as an ISO date."""
    return datetime.date.today().isoformat()


def is_on(date: str, end_date: str, day: str) -> bool:
    """Whether what lasts from `date` to `end_date` (or that day alone) is going on at a day.

    Dates are ISO and may be a year or a month alone; without one it may be going on any day.
    """
    last = end_date or date
    return not date or (date <= day and (day <= last or day.startswith(last)))


def read_day(text: str, today: str) -> str | None:
    """A day as an ISO date: "today", "yesterday", "2026-05-02", "2 May", "May 2 2026"; else None.

    A day without a year is the last one of that name, today included.
    """
    words = text.strip().casefold().replace(".", " ").split()
    now = datetime.date.fromisoformat(today)
    if words in (["today"], ["yesterday"]):
        return (now - datetime.timedelta(days=words == ["yesterday"])).isoformat()
    if words == ["tomorrow"]:
        return (now + datetime.timedelta(days=1)).isoformat()
    if len(words) == 1 and re.fullmatch(r"\d{4}-\d{2}-\d{2}", words[0]):
        try:
            return datetime.date.fromisoformat(words[0]).isoformat()
        except ValueError:
            raise LogbookError(f"{words[0]} is not a day", "write it as in 2026-05-02") from None
    days = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    if len(words) == 1 and words[0] in days:
        back = (now.weekday() - days.index(words[0])) % 7
        return (now - datetime.timedelta(days=back)).isoformat()
    return _day_and_month(words, now)


def _day_and_month(words: list[str], now: datetime.date) -> str | None:
    months = [datetime.date(2000, month, 1).strftime("%B").casefold() for month in range(1, 13)]
    month = day = year = None
    for word in words:
        number = re.fullmatch(r"(\d{1,4})(?:st|nd|rd|th)?", word)
        named = [at for at, each in enumerate(months, 1) if len(word) > 2 and each.startswith(word)]
        if named and month is None:
            month = named[0]
        elif number and len(number[1]) == 4 and year is None:
            year = int(number[1])
        elif number and day is None:
            day = int(number[1])
        else:
            return None
    if month is None or day is None:
        return None
    try:
        found = datetime.date(year or now.year, month, day)
        if year is None and found > now:
            found = found.replace(year=now.year - 1)
    except ValueError:
        return None
    return found.isoformat()
