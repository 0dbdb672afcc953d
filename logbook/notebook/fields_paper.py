"""Input lists and working hours of a session, as both doors say them.

Lines, in clauses: an input is `CHANNEL SOURCE`, then `mic`, `preamp`, `pad`, `position`, `track`
and `note`; hours are `NAME START-END`, then `break` and `note`. A start without a day is on the
session's.
"""

from __future__ import annotations

import re
from typing import Any

from logbook.errors import LogbookError
from logbook.names import matches
from logbook.notebook import values
from logbook.notebook.clauses import read_clauses, write_clauses
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import Hours, InputChannel, Session
from logbook.timing.working_hours import (
    read_breaks,
    read_end,
    read_shift,
    read_start,
    split_shift,
)

_CHANNEL = re.compile(
    r"(?:ch(?:annel)?\.?\s+)?(?P<channel>(?:DI\s+)?\S+)\s+(?P<source>\S.*)", re.I | re.S
)
_INPUT_FORM = 'write it as in "3 snare top; mic small dynamic; preamp rack 3; track 3"'
_INPUT_WORDS = {
    "mic": "microphone",
    "microphone": "microphone",
    "preamp": "preamp",
    "pre": "preamp",
    "pad": "pad",
    "position": "placed",
    "pos": "placed",
    "track": "track",
    "note": "notes",
}
_HOURS_FORM = 'write it as in "Ada Fenrush 10:00-18:30; break 13:00-13:45"'
_HOURS_WORDS = {"break": "breaks", "breaks": "breaks", "note": "notes"}
_WHEN = re.compile(
    r"(?:\d{4}-\d{2}-\d{2}[T ]\s*)?\d{1,2}(?:[:.h]\d{2}|\s*[ap]\.?m|\s*[-\u2013]).*", re.I | re.S
)


def _channel(value: Value, context: Context) -> str:
    return " ".join(values.name(value, context).split())


def _read_input(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _INPUT_WORDS, _INPUT_FORM)
    found = _CHANNEL.fullmatch(head)
    if found is None:
        raise LogbookError(
            f"{values.shown(head)} does not say which channel it is and what is on it", _INPUT_FORM
        )
    return {
        "channel": _channel(found["channel"], context),
        "source": values.name(found["source"], context),
        **{name: values.text(text, context) for name, text in said.items()},
    }


def _write_input(each: InputChannel, context: Context) -> str | None:
    return write_clauses(
        f"{each.channel} {each.source}",
        {
            "mic": each.microphone,
            "preamp": each.preamp,
            "pad": each.pad,
            "position": each.placed,
            "track": each.track,
            "note": each.notes,
        },
    )


def _start(value: Value, context: Context) -> str:
    session = context.owner(Session)
    return read_start(values.text(value, context), session.date if session else "")


def _end(value: Value, context: Context) -> str:
    body = values.text(value, context)
    return _fitting(context, ended_at=read_end(body) if body.strip() else "")["ended_at"]


def _breaks(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = ", ".join(values.texts(value, context))
    return _fitting(context, breaks=read_breaks(values.text(value, context)))["breaks"]


def _fitting(context: Context, **said: str) -> dict[str, str]:
    """Return what is said of hours once it goes together with what was said before it."""
    hours = context.owner(Hours)
    if hours is not None and hours.started_at:
        whole = {"ended_at": hours.ended_at, "breaks": hours.breaks} | said
        read_shift(hours.started_at, whole["ended_at"], whole["breaks"])
    return said


def _read_hours(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _HOURS_WORDS, _HOURS_FORM)
    who, when = _who_and_when(head, context)
    first, last = split_shift(when)
    start = _start(first, context)
    read: dict[str, Any] = {"person": values.known("person")(who, context), "started_at": start}
    if last:
        read["ended_at"] = read_end(last)
    if "breaks" in said:
        read["breaks"] = read_breaks(said["breaks"])
    if "notes" in said:
        read["notes"] = values.text(said["notes"], context)
    read_shift(start, read.get("ended_at", ""), read.get("breaks", ""))
    return read


def _who_and_when(head: str, context: Context) -> tuple[str, str]:
    """Part a name from the times after it; a name may have figures in it."""
    words = head.replace(":", ": ", 1).split(" ") if ": " in head else head.split()
    for at in range(1, len(words)):
        who, when = " ".join(words[:at]).rstrip(":").strip(), " ".join(words[at:]).strip()
        if _WHEN.fullmatch(when) and (
            matches(who, context.known.names("person")) or not _WHEN.search(who)
        ):
            return who, when
    raise LogbookError(f"{values.shown(head)} does not say who worked when", _HOURS_FORM)


def _write_hours(hours: Hours, context: Context) -> str | None:
    when = f"{hours.started_at}-{hours.ended_at}" if hours.ended_at else hours.started_at
    said = {"break": hours.breaks, "note": hours.notes}
    return write_clauses(f"{hours.person} {when}", said)


INPUT = Noun(
    word="input",
    called=lambda each: f"{each.channel} {each.source}",
    plural="inputs",
    record=InputChannel,
    key=("channel", "source"),
    help="a channel of a session's input list",
    members=members_of(InputChannel, __name__),
    line=LineForm(
        read=_read_input,
        write=_write_input,
        form="CHANNEL SOURCE; mic TEXT; preamp TEXT; pad TEXT; position TEXT; track TEXT",
        example="3 snare top; mic small dynamic; track 3",
    ),
)

HOURS = Noun(
    word="hours",
    called=lambda hours: f"{hours.person} {hours.started_at}",
    plural="hours",
    record=Hours,
    key=("person", "started_at"),
    help="when somebody worked at a session",
    members=members_of(Hours, __name__),
    line=LineForm(
        read=_read_hours,
        write=_write_hours,
        form="NAME [DAY] START-END; break TEXT; note TEXT",
        example="Ada Fenrush 10:00-18:30; break 13:00-13:45",
    ),
)
