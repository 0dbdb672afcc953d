"""Tunings, instruments and sessions, as both doors say them.

Lines: in a table of tunings each is its strings, low to high: `"low open C" = "C2 G2 C3 G3 C4 E4"`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logbook.crediting.rights import read_moment
from logbook.errors import LogbookError
from logbook.names import alike, pick
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import Instrument, Session, Tuning
from logbook.strings.instruments import KINDS
from logbook.strings.tunings import at_pitch, parse_tuning, read_tuning


def _strings(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    return read_tuning(values.text(value, context)).text


def a4_hertz(value: Value, context: Context) -> float:
    """Read what A4 is tuned to, in hertz."""
    a4_hz = values.number(unit="hz")(value, context)
    at_pitch(parse_tuning("A4"), a4_hz=a4_hz)
    return float(a4_hz)


def _cents(value: Value, context: Context) -> float:
    cents = values.number(unit="cents")(value, context)
    at_pitch(parse_tuning("A4"), offset_cents=cents)
    return float(cents)


_OF_ONE_INSTRUMENT = ("tenor guitar", "tenor banjo")
"""Usual tunings called after an instrument, whose strings others have too."""


def tuning_name(value: Value, context: Context) -> str:
    """Read the name of a tuning of the log, or of a usual one, which is then taken in.

    Strings written out are read as the usual tuning that has them; where other instruments are
    strung so too, as a viola is like a tenor guitar, they are called by their letters.
    """
    body = values.text(value, context)
    if not body.strip():
        return ""
    names = context.known.names("tuning")
    if body in names:
        return body
    try:
        usual = read_tuning(body)
    except LogbookError as error:
        try:
            return pick(body, names, "tuning", error.remedy)
        except LogbookError as unknown:
            raise LogbookError(unknown.problem, unknown.remedy) from error
    if usual.name == usual.text:
        raise LogbookError(
            f"the tuning {values.shown(body)} has no name yet",
            f'name it first: [tunings] and under it "my tuning" = "{usual.text}"',
        )
    if usual.name in _OF_ONE_INSTRUMENT and not alike(body, usual.name):
        usual = replace(usual, name=_letters(usual.text))
    if usual.name not in names:
        context.known.add("tuning", Tuning(name=usual.name, strings=usual.text))
    return usual.name


def _letters(strings: str) -> str:
    return "".join(string.rstrip("0123456789") for string in strings.split())


def _kind(value: Value, context: Context) -> str:
    body = values.text(value, context).strip()
    return body.casefold() if body.casefold() in KINDS else body


def _tuning_line(line: str, context: Context) -> dict[str, Any]:
    return {"strings": _strings(line, context)}


def _write_tuning_line(tuning: Tuning, context: Context) -> str | None:
    plain = Tuning(name=tuning.name, strings=tuning.strings)
    return tuning.strings if tuning == plain else None


TUNING = Noun(
    word="tuning",
    plural="tunings",
    record=Tuning,
    key=("name",),
    needs=("name", "strings"),
    help="a string's open pitch for each string, low to high as strung",
    members=members_of(Tuning, __name__),
    line=LineForm(
        read=_tuning_line,
        write=_write_tuning_line,
        form="STRINGS",
        example="D2 A2 D3 G3 A3 D4",
    ),
)

INSTRUMENT = Noun(
    word="instrument",
    plural="instruments",
    record=Instrument,
    key=("name",),
    help="one physical instrument",
    members=members_of(Instrument, __name__),
    line=LineForm(
        read=lambda line, context: {"name": values.name(line, context)},
        write=lambda instrument, context: instrument.name,
        form="NAME",
        example="the larch guitar",
    ),
)

SESSION = Noun(
    word="session",
    plural="sessions",
    record=Session,
    key=("name",),
    help="a day or block of work at a place",
    members=members_of(Session, __name__),
    line=LineForm(
        read=lambda line, context: {"name": values.name(line, context)},
        write=lambda session, context: session.name,
        form="NAME",
        example="day one",
    ),
)
