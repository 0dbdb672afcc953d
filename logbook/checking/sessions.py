"""The paper work of sessions against itself: channels taken twice, hours that overlap.

These rules look at sessions, not at songs, so they are asked apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from logbook.checking.problem import CONTRADICTS, MISSING, Problem
from logbook.records.input_lists import recorded_twice, taken_twice
from logbook.records.places import Session
from logbook.records.worked import doubly_worked, worked_at
from logbook.timing.working_hours import length_text

LONGEST_DAY = 16 * 60
"""Minutes of work at a stretch from which on a slip of the pen is likelier."""


def check_sessions(sessions: Iterable[Session]) -> tuple[Problem, ...]:
    """Return what contradicts what in the paper work of sessions."""
    known = tuple(sessions)
    return (*_inputs(known), *_hours(known))


def _inputs(sessions: tuple[Session, ...]) -> Iterator[Problem]:
    for session in sessions:
        for first, second, channel in taken_twice(session.inputs):
            yield Problem(
                "same channel twice",
                f"{session.name}: input list, channel {channel}",
                f"{first.source} and {second.source} both come in there",
                "a channel takes one source",
                f"say where one of them comes in: logbook input edit '{second.channel}"
                f" {second.source}' --channel ... --session '{session.name}'",
            )
        for first, second in recorded_twice(session.inputs):
            yield Problem(
                "same track twice",
                f"{session.name}: input list, track {first.track}",
                f"{first.source} and {second.source} are both recorded there",
                "one of them would be lost, unless they were meant to be mixed",
                "say which track the other one goes to",
            )


def _hours(sessions: tuple[Session, ...]) -> Iterator[Problem]:
    worked = worked_at(sessions)
    for first, second in doubly_worked(worked):
        places = dict.fromkeys((first.session, second.session))
        yield Problem(
            "hours overlap",
            f"{' and '.join(places)}: hours of {first.hours.person}",
            f"from {first.hours.started_at} to {first.hours.ended_at or 'no end yet'}, and from"
            f" {second.hours.started_at} to {second.hours.ended_at or 'no end yet'}",
            "nobody works twice at once",
            "take one of them out, or say when it was: logbook hours edit",
        )
    for each in worked:
        where = f"{each.session}: hours of {each.hours.person} from {each.hours.started_at}"
        mend = "say when they stopped: logbook hours edit ... --end 18:30"
        if each.shift is None:
            yield Problem("hours", where, each.why, "they cannot be counted", mend, CONTRADICTS)
        elif each.minutes is None:
            yield Problem("hours", where, "they have no end", "they are in no total", mend, MISSING)
        elif each.minutes > LONGEST_DAY:
            yield Problem(
                "hours",
                where,
                f"they come to {length_text(each.minutes)} at a stretch",
                "nobody works so long without a night between",
                mend,
            )
