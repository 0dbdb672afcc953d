"""Which session a take goes into, where nobody names one: the current one, if it is today's."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from logbook.cli.paging import let_through
from logbook.cli.printing import remark, shell_word
from logbook.notebook import days

if TYPE_CHECKING:
    from logbook.cli.noun_place import Owner
    from logbook.records import Session
    from logbook.store.changing import Change


def session_for(change: Change, owner: Owner) -> str:
    """Return the current session's name; where its day is over, ask, or begin today's.

    Without a current session there is none, and "" is returned. Where nobody can be asked, a
    session named after today begins, and becomes the current one.
    """
    name = owner.here.session
    if not name:
        return ""
    today = days.today()
    session = _read(change, name)
    if session is None or days.is_on(session.date, session.end_date, today):
        return name
    if sys.stdin.isatty():
        let_through()
        remark(
            f"{name} was on {session.date}. Type y to put the take there all the same,"
            f" or press Enter to begin today's session {today}."
        )
        try:
            if input().strip().casefold() in {"y", "yes"}:
                return name
        except EOFError:
            pass
    _begin(change, owner, today)
    remark(
        f"{name} was on {session.date}, so today's session {today} was begun;"
        f" --session {shell_word(name)} puts a take there all the same"
    )
    return today


def _read(change: Change, name: str) -> Session | None:
    from logbook.store.finding import exactly
    from logbook.store.reading import read_one

    found = exactly(change.connection, "session", name)
    row = read_one(change.connection, "session", found.id) if found else None
    session: Session | None = row.record if row else None
    return session


def _begin(change: Change, owner: Owner, day: str) -> None:
    from logbook.records import Session
    from logbook.store.finding import LogPlace
    from logbook.store.here import move_here
    from logbook.store.writing import put

    put(change, Session(name=day, date=day), given={"date"})
    here = owner.here
    move_here(change.connection, LogPlace(here.song, here.version, here.part, session=day))
