"""Tunings, instruments and sessions, as both doors say them.

Lines: in a table of tunings each is its strings, low to high: `"low open C" = "C2 G2 C3 G3 C4 E4"`.
"""

from __future__ import annotations

from typing import Any

from logbook.errors import LogbookError
from logbook.names import pick
from logbook.notebook import values
from logbook.notebook.declare import Collection, Context, Field, Line, Noun, Value
from logbook.notebook.fields_people import NOTES
from logbook.records import Instrument, Session, Tuning
from logbook.strings.instruments import KINDS
from logbook.strings.tunings import at_pitch, parse_tuning, read_tuning


def _strings(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    return read_tuning(values.text(value, context)).text


def _a4(value: Value, context: Context) -> float:
    a4_hz = values.number(unit="hz")(value, context)
    at_pitch(parse_tuning("A4"), a4_hz=a4_hz)
    return float(a4_hz)


def _cents(value: Value, context: Context) -> float:
    cents = values.number(unit="cents")(value, context)
    at_pitch(parse_tuning("A4"), offset_cents=cents)
    return float(cents)


A4 = Field(
    key="a4",
    names=("a4_hz",),
    read=_a4,
    write=values.short,
    help="what A4 is tuned to, in hertz",
    example="442",
)


def tuning_name(value: Value, context: Context) -> str:
    """Read the name of a tuning of the log, or of a usual one, which is then taken in.

    Strings written out are read as the usual tuning that has them.
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
    if usual.name not in names:
        context.known.add("tuning", Tuning(name=usual.name, strings=usual.text))
    return usual.name


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
    members=(
        Field(key="name", read=values.name, help="what it is called", example="DADGAD"),
        Field(
            key="strings",
            read=_strings,
            help="open pitches, low to high; courses as E3/E2, a short string as G4@5",
            example="D2 A2 D3 G3 A3 D4",
        ),
        A4,
        Field(
            key="cents",
            names=("offset_cents",),
            read=_cents,
            write=values.short,
            help="how far above A4 the instrument is tuned, in cents",
            example="-15",
        ),
        NOTES,
    ),
    line=Line(
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
    members=(
        Field(key="name", read=values.name, help="what it is called", example="the larch guitar"),
        Field(
            key="kind",
            read=_kind,
            help=f"what it is: {', '.join(list(KINDS)[:3])}, bass, mandolin, voice ...",
            example="acoustic guitar",
        ),
        Field(key="owner", read=values.text, help="whose it is", example="Ada Fenrush"),
        Field(
            key="strings",
            read=values.maybe(values.whole(1, 60)),
            help="how many strings (courses)",
            example="6",
        ),
        Field(
            key="scale",
            names=("scale_mm",),
            read=values.maybe(values.number(50, 3000, "mm")),
            write=values.short,
            help="scale length in mm",
            example="645",
        ),
        Field(
            key="frets",
            read=values.maybe(values.whole(0, 36)),
            help="how many frets",
            example="20",
        ),
        Field(key="tuning", read=tuning_name, help="its usual tuning, by name", example="standard"),
        Field(key="gauge", read=values.text, help="string gauge", example="12-53"),
        Field(
            key="transposition",
            read=values.maybe(values.whole(-48, 48)),
            help="written minus sounding pitch in semitones (guitar 12)",
            example="12",
        ),
        NOTES,
    ),
    line=Line(
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
    members=(
        Field(key="name", read=values.name, help="what it is called", example="day one"),
        Field(key="date", read=values.iso_date, help="its (first) day", example="2026-05-02"),
        Field(
            key="until",
            names=("end_date",),
            read=values.iso_date,
            help="its last day, if it went on",
            example="2026-05-03",
        ),
        Field(key="place", read=values.text, help="where", example="the boathouse"),
        Field(key="gear", read=values.text, help="gear notes", example="two ribbons, one preamp"),
        Field(
            key="file_pattern",
            read=values.text,
            help="how its recorder named files",
            example="{part}_{take}",
        ),
        NOTES,
        Collection(attribute="people", noun="role", keys=("people", "role", "person")),
    ),
    line=Line(
        read=lambda line, context: {"name": values.name(line, context)},
        write=lambda session, context: session.name,
        form="NAME",
        example="day one",
    ),
)
