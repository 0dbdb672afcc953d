"""The day sheet: who worked from when to when, their breaks, and what that comes to.

Lengths are in minutes. Where hours have no end yet, the total says that it goes without them.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from logbook.records.places import Session
from logbook.records.worked import WorkedHours, by_person, doubly_worked, total_minutes, worked_at
from logbook.sheets.blocks import CAUTION, KEY, Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.timing.working_hours import length_text, zone_text

CAUTION_SAID = (
    "These are the hours as they were written down. What is paid for them, overtime and rest are "
    "matters of contracts and local rules; ask whoever knows those."
)
_HEAD = ("who", "day", "from", "to", "breaks", "worked", "notes")
_LABELS = 10


class AskedHours(NamedTuple):
    """Whose hours are wanted at which sessions; without a person everybody's."""

    sessions: tuple[Session, ...]
    person: str = ""


def build(subject: AskedHours, wanted: Wanted) -> Sheet:
    """Return the day sheet of sessions, ready to be drawn."""
    del wanted
    worked = worked_at(subject.sessions, subject.person)
    blocks: list[Block] = []
    for session in subject.sessions:
        own = [each for each in worked if each.session == session.name]
        if own or len(subject.sessions) == 1:
            blocks += _session(session, own)
    if not blocks:
        blocks.append(Paragraph("no hours yet"))
    if worked:
        blocks += _totals(worked, len(subject.sessions))
    names = [session.name for session in subject.sessions]
    title = f"{names[0]}: hours" if len(names) == 1 else "hours"
    if subject.person:
        title = f"{title} of {subject.person}"
    rows = (
        ("session", "who", "from", "to", "break_minutes", "worked_minutes", "notes"),
        *((each.session, *_row(each).values()) for each in worked),
    )
    data = {
        "hours": [{"session": each.session, **_row(each)} for each in worked],
        "minutes": {who: total_minutes(own) for who, own in by_person(worked).items()},
        "total_minutes": total_minutes(worked),
        "not_ended": sum(each.minutes is None for each in worked),
        "caution": CAUTION_SAID,
    }
    return Sheet("hours", title, data, tuple(blocks), rows)


def _session(session: Session, worked: list[WorkedHours]) -> list[Block]:
    aside = ", ".join(filter(None, (session.date, session.place)))
    heading = Heading(2, f"{session.name}: day sheet", aside, quiet=True)
    if not worked:
        return [heading, Paragraph("no hours yet")]
    rows = [_cells(each) for each in worked]
    kept = [at for at in range(len(_HEAD)) if at not in (4, 6) or any(row[at] for row in rows)]
    if all(row[1] == session.date for row in rows):
        kept.remove(1)
    head = tuple(_HEAD[at] for at in kept)
    return [heading, Table(head, tuple(tuple(row[at] for at in kept) for row in rows))]


def _cells(each: WorkedHours) -> tuple[str, ...]:
    hours, shift = each.hours, each.shift
    if shift is None:
        return (
            hours.person,
            hours.started_at,
            "",
            hours.ended_at,
            hours.breaks,
            "not clear",
            ". ".join(filter(None, (each.why, hours.notes))),
        )
    worked = "not ended" if each.minutes is None else length_text(each.minutes)
    return (
        hours.person,
        shift.start.date().isoformat(),
        _clock(shift.start),
        _ended(shift.start, shift.end),
        hours.breaks,
        worked,
        hours.notes,
    )


def _clock(moment: datetime) -> str:
    away = moment.utcoffset()
    zone = f" {zone_text(moment.tzinfo)}" if away is not None and moment.tzinfo else ""  # type: ignore[arg-type]
    return f"{moment:%H:%M}{zone}"


def _ended(start: datetime, end: datetime | None) -> str:
    if end is None:
        return ""
    days = (end.date() - start.date()).days
    later = {0: "", 1: " next day"}.get(days, f" on {end.date().isoformat()}")
    same = start.utcoffset() == end.utcoffset()
    return f"{end:%H:%M}{later}" if same else f"{_clock(end)}{later}"


def _row(each: WorkedHours) -> dict[str, Any]:
    shift = each.shift
    return {
        "who": each.hours.person,
        "from": shift.start.isoformat(timespec="minutes") if shift else each.hours.started_at,
        "to": shift.end.isoformat(timespec="minutes") if shift and shift.end else "",
        "break_minutes": shift.break_minutes if shift else None,
        "worked_minutes": each.minutes,
        "notes": each.hours.notes,
    }


def _totals(worked: tuple[WorkedHours, ...], sessions: int) -> list[Block]:
    people = by_person(worked)
    rows = []
    if len(people) > 1 or sessions > 1 or any(len(own) > 1 for own in people.values()):
        rows = [(who, _total(own)) for who, own in people.items()]
    if len(people) > 1 or not rows:
        rows.append(("Total", _total(worked)))
    blocks: list[Block] = [Facts(tuple(rows), column=_LABELS)]
    twice = tuple(
        f"{first.hours.person} is written down twice at once: from {first.hours.started_at}"
        f" ({first.session}) and from {second.hours.started_at} ({second.session})"
        for first, second in doubly_worked(worked)
    )
    if twice:
        blocks.append(Items(twice, CAUTION))
    return [*blocks, Paragraph(CAUTION_SAID, KEY)]


def _total(worked: tuple[WorkedHours, ...] | list[WorkedHours]) -> str:
    open_ones = sum(each.minutes is None for each in worked)
    without = f", without {open_ones} that ha{'s' if open_ones == 1 else 've'} no end yet"
    return length_text(total_minutes(worked)) + (without if open_ones else "")
