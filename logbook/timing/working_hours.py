"""Working hours: when somebody began and stopped, their breaks, and how long that makes.

Conventions. A moment is "2026-05-02 22:00", with its distance from UTC where that was said
("2026-05-02 22:00 +02:00"). An end may be a clock time alone: then it is the next time the clock
says so, after midnight if need be. An end without a zone is in that of the beginning, so work on
both sides of a change of the clocks, or of a border, is counted right once both zones are written.
Breaks are lengths ("45 min", "1 h 30 min") or clock times ("13:00-13:45"), with commas between.
Lengths are in whole minutes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import NamedTuple

from logbook.errors import LogbookError

_ZONE = r"(?:\s*(?P<zone>Z|UTC|[+\-\u2212]\d{1,2}(?::?\d{2})?))?"
_CLOCK = r"(?P<hour>\d{1,2})(?:[:.h](?P<minute>\d{2}))?\s*(?P<half>[ap]\.?m\.?)?"
_MOMENT = re.compile(
    rf"(?:(?P<day>\d{{4}}-\d{{2}}-\d{{2}})[T ]\s*)?{_CLOCK}(?::\d{{2}})?{_ZONE}", re.I
)
_LENGTH = re.compile(
    r"(?:(?P<hours>\d{1,2})\s*(?:h|hours?|hrs?))?\s*"
    r"(?:(?P<minutes>\d{1,3})\s*(?:m|min|mins|minutes?)?)?",
    re.I,
)
_SPAN = re.compile(r"(?P<start>\d[^-\u2013]*?)\s*[-\u2013]\s*(?P<end>\d.*)")
_SHIFT = re.compile(
    r"(?P<start>(?:\d{4}-\d{2}-\d{2}[T ]\s*)?\d{1,2}(?:[:.h]\d{2})?(?:\s*[ap]\.?m\.?)?"
    r"(?:\s*(?:Z|UTC|[+\u2212]\d{1,2}(?::?\d{2})?)|\s+-\d{1,2}:\d{2}(?=\s*[-\u2013]))?)"
    r"(?:\s*[-\u2013]\s*(?P<end>.*))?",
    re.I,
)
_FORMS = 'write it as in "10:00", "2026-05-02 10:00" or "2026-05-02 10:00 +02:00"'
_BREAKS = 'write "45 min", "1 h 30 min" or clock times, "13:00-13:45", with commas between'
_DAY = timedelta(days=1)


class Moment(NamedTuple):
    """A clock time as it was written: on which day (None: not said), in which zone (or None)."""

    day: date | None
    clock: time
    zone: timezone | None
    next_day: bool = False

    def __str__(self) -> str:
        words = [self.day.isoformat()] if self.day else []
        words.append("24:00" if self.next_day else self.clock.strftime("%H:%M"))
        if self.zone is not None:
            words.append(zone_text(self.zone))
        return " ".join(words)


class Shift(NamedTuple):
    """Somebody's work at a stretch; `end` is None while it goes on or nobody said."""

    start: datetime
    end: datetime | None
    break_minutes: int

    @property
    def minutes(self) -> int | None:
        """How long was worked without the breaks, in minutes; None without an end."""
        if self.end is None:
            return None
        return _minutes(self.end - self.start) - self.break_minutes


def zone_text(zone: timezone) -> str:
    """Return a zone as it is written: "+02:00"."""
    minutes = int(zone.utcoffset(None).total_seconds() // 60)
    hours, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hours:02d}:{rest:02d}"


def read_moment(text: str) -> Moment:
    """Read a clock time, with its day and zone where they are said. Raises LogbookError."""
    found = _MOMENT.fullmatch(" ".join(text.split()))
    if found is None:
        raise LogbookError(f"{text.strip()[:40]!r} is not a time of day", _FORMS)
    hour, minute = int(found["hour"]), int(found["minute"] or 0)
    half = (found["half"] or "").lower()[:1]
    if half and not 1 <= hour <= 12:
        raise LogbookError(f"{text.strip()[:40]!r} is not a time of day", _FORMS)
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    midnight = (hour, minute) == (24, 0)
    try:
        day = date.fromisoformat(found["day"]) if found["day"] else None
        clock = time(0 if midnight else hour, minute)
        zone = _zone(found["zone"])
    except ValueError:
        raise LogbookError(f"{text.strip()[:40]!r} is not a time of day", _FORMS) from None
    return Moment(day, clock, zone, midnight)


def _zone(text: str | None) -> timezone | None:
    if not text:
        return None
    if text.upper() in ("Z", "UTC"):
        return UTC
    digits = text[1:].replace(":", "")
    hours, minutes = (int(digits[:-2]), int(digits[-2:])) if len(digits) > 2 else (int(digits), 0)
    if minutes > 59:
        raise ValueError(text)
    away = timedelta(hours=hours, minutes=minutes)
    return timezone(away if text[0] == "+" else -away)


def read_start(text: str, day: str = "") -> str:
    """Return a beginning as it is kept, "2026-05-02 10:00 +02:00".

    `day` (ISO) is the day where the text says none. Raises LogbookError without any.
    """
    moment = read_moment(text)
    if moment.day is None:
        if len(day) != len("2026-05-02"):
            raise LogbookError(
                f"{text.strip()[:40]!r} does not say on which day, and neither does the session",
                'write the day first, as in "2026-05-02 10:00"',
            )
        moment = moment._replace(day=date.fromisoformat(day))
    if moment.next_day:
        moment = moment._replace(day=_day_after(moment.day), next_day=False)
    return str(moment)


def read_end(text: str) -> str:
    """Return an end as it is kept: a clock time, or with its day. Raises LogbookError."""
    return str(read_moment(text))


def split_shift(text: str) -> tuple[str, str]:
    """Part "10:00 +02:00-18:30" into its two ends as they are written; the second may be empty.

    Raises LogbookError for text that is neither.
    """
    found = _SHIFT.fullmatch(text.strip())
    if found is None:
        raise LogbookError(
            f"{text.strip()[:40]!r} does not say from when to when",
            'write it as in "10:00-18:30" or "2026-05-02 22:00-02:30"',
        )
    return found["start"].strip(), (found["end"] or "").strip()


def read_breaks(text: str) -> str:
    """Return breaks as they are kept: "13:00-13:45, 15 min". Raises LogbookError."""
    return ", ".join(str(_break(each)) for each in text.split(",") if each.strip())


class _ClockBreak(NamedTuple):
    start: Moment
    end: Moment

    def __str__(self) -> str:
        return f"{self.start}-{self.end}"


class _LongBreak(NamedTuple):
    minutes: int

    def __str__(self) -> str:
        return length_text(self.minutes)


def _break(text: str) -> _ClockBreak | _LongBreak:
    body = text.strip()
    if found := _SPAN.fullmatch(body):
        return _ClockBreak(read_moment(found["start"]), read_moment(found["end"]))
    found = _LENGTH.fullmatch(body)
    if found is None or not (found["hours"] or found["minutes"]):
        raise LogbookError(f"{body[:40]!r} is not a break", _BREAKS)
    return _LongBreak(int(found["hours"] or 0) * 60 + int(found["minutes"] or 0))


def read_shift(start: str, end: str = "", breaks: str = "") -> Shift:
    """Work out a shift from its texts as they are kept.

    Raises LogbookError for text that cannot be read, an end before the beginning, a break outside
    the work, or breaks longer than it.
    """
    first = read_moment(start)
    last = read_moment(end) if end.strip() else None
    if first.day is None:
        raise LogbookError(f"{start!r} does not say on which day", _FORMS)
    zone = first.zone or (last.zone if last else None)
    begun = datetime.combine(first.day, first.clock, zone)
    ended = _after(begun, last) if last else None
    if ended is not None and ended <= begun:
        raise LogbookError(
            f"the work from {start} to {end} ends before it begins", "write the day of its end too"
        )
    minutes = 0
    for each in (_break(one) for one in breaks.split(",") if one.strip()):
        if isinstance(each, _LongBreak):
            minutes += each.minutes
            continue
        away = _after(begun, each.start, at_once=True)
        back = _after(away, each.end)
        if ended is not None and back > ended:
            raise LogbookError(
                f"the break {each} is not within the work from {start} to {end}",
                "write when the break was, or only how long",
            )
        minutes += _minutes(back - away)
    if ended is not None and minutes > _minutes(ended - begun):
        raise LogbookError(
            f"the breaks are longer than the work from {start} to {end}", "write what was meant"
        )
    return Shift(begun, ended, minutes)


def _after(begun: datetime, moment: Moment, *, at_once: bool = False) -> datetime:
    """The moment that is meant, which comes after `begun` where it does not say its day."""
    zone = (moment.zone or begun.tzinfo) if begun.tzinfo is not None else None
    if moment.day is not None:
        day = _day_after(moment.day) if moment.next_day else moment.day
        return datetime.combine(day, moment.clock, zone)
    local = begun.astimezone(zone) if zone is not None else begun
    found = datetime.combine(local.date(), moment.clock, zone)
    early = found < begun if at_once else found <= begun
    return found + _DAY if early else found


def _day_after(day: date | None) -> date:
    assert day is not None
    return day + _DAY


def _minutes(length: timedelta) -> int:
    return int(length.total_seconds() // 60)


def overlapping(shifts: Iterable[Shift]) -> list[tuple[int, int]]:
    """Return which of somebody's shifts fall into each other, as pairs of their numbers from 0.

    Without a zone on one side, both are compared as the clock says.
    """
    each = list(shifts)
    return [
        (first, second)
        for first in range(len(each))
        for second in range(first + 1, len(each))
        if _overlap(each[first], each[second])
    ]


def _overlap(first: Shift, second: Shift) -> bool:
    ends = [first.start, first.end, second.start, second.end]
    if any(end is not None and end.tzinfo is None for end in ends):
        ends = [end.replace(tzinfo=None) if end is not None else None for end in ends]
    start, end, other, other_end = ends
    assert start is not None
    assert other is not None
    if start == other:
        return True
    return (end is not None and start < other < end) or (
        other_end is not None and other < start < other_end
    )


def length_text(minutes: int) -> str:
    """Return a length as people say it: "45 min", "1 h", "7 h 45 min"."""
    hours, rest = divmod(minutes, 60)
    return " ".join(
        filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else ""))
    )
