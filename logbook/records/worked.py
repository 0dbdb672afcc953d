"""The hours of sessions, read: how long each person worked, and which hours contradict others."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.names import fold
from logbook.records.paper import Hours
from logbook.records.places import Session
from logbook.timing.working_hours import Shift, overlapping, read_shift


class WorkedHours(NamedTuple):
    """Somebody's hours at a session; `shift` is None where they cannot be read, and `why` says."""

    session: str
    hours: Hours
    shift: Shift | None
    why: str = ""

    @property
    def minutes(self) -> int | None:
        """How long was worked without the breaks, in minutes; None while that is not known."""
        return self.shift.minutes if self.shift else None


def worked_at(sessions: Iterable[Session], person: str = "") -> tuple[WorkedHours, ...]:
    """Return the hours of sessions, of one person or of all, session by session as they began."""
    found = []
    for session in sessions:
        own = [
            _worked(session.name, each)
            for each in session.hours
            if not person or each.person == person
        ]
        found += sorted(own, key=lambda each: each.hours.started_at[:16])
    return tuple(found)


def _worked(session: str, hours: Hours) -> WorkedHours:
    try:
        shift = read_shift(hours.started_at, hours.ended_at, hours.breaks)
    except LogbookError as error:
        return WorkedHours(session, hours, None, str(error))
    return WorkedHours(session, hours, shift)


def total_minutes(worked: Iterable[WorkedHours]) -> int:
    """Return how much was worked in all, in minutes, as far as that is known."""
    return sum(each.minutes or 0 for each in worked)


def by_person(worked: Iterable[WorkedHours]) -> dict[str, list[WorkedHours]]:
    """Return the hours of each person, in the order in which they first come."""
    found: dict[str, list[WorkedHours]] = {}
    for each in worked:
        found.setdefault(each.hours.person, []).append(each)
    return found


def doubly_worked(worked: Iterable[WorkedHours]) -> list[tuple[WorkedHours, WorkedHours]]:
    """Return hours of one person that fall into each other, in whatever sessions."""
    people: dict[str, list[WorkedHours]] = {}
    for each in worked:
        if each.shift is not None:
            people.setdefault(fold(each.hours.person), []).append(each)
    return [
        (own[first], own[second])
        for own in people.values()
        for first, second in overlapping([each.shift for each in own if each.shift])
    ]
