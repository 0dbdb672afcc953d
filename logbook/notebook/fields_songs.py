"""Songs and their versions, as both doors say them: key, meter, tempo, form.

The lines for meter, tempo and form are those of `logbook.notebook.time_lines`.
"""

from __future__ import annotations

from fractions import Fraction

from logbook.crediting.identifiers import read_isrc, read_iswc
from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Collection, Context, Field, Noun, Value
from logbook.notebook.fields_files import implied_folder
from logbook.notebook.fields_people import NOTES
from logbook.notebook.fields_places import A4
from logbook.notebook.time_lines import (
    meter_at,
    read_form_lines,
    read_meter_lines,
    read_tempo_lines,
    tempo_line,
    write_form_lines,
    write_meter_lines,
    write_tempo_lines,
)
from logbook.numerals import MOST_BARS
from logbook.records import FormSection, MeterChange, Song, TempoChange, Version
from logbook.theory.keys import parse_key
from logbook.theory.pitch import name_to_midi
from logbook.timing.bars import parse_point
from logbook.timing.map_text import read_pickup
from logbook.timing.meter import parse_meter
from logbook.timing.tempo import parse_unit

LAST_BAR = MOST_BARS
read_bar = values.whole(0, LAST_BAR)


def key_name(value: Value, context: Context) -> str:
    """Read a key and keep it in its short form: "Db", "Bbm"."""
    body = values.text(value, context)
    return parse_key(body).short if body.strip() else ""


def read_beat(value: Value, context: Context) -> str:
    """Read a beat from 1, which may be a fraction: "3", "5/2", "2.5"."""
    try:
        beat = Fraction(str(value).strip())
    except (ValueError, ZeroDivisionError):
        beat = Fraction(0)
    if isinstance(value, bool) or not 1 <= beat <= 1000:
        raise LogbookError(f"{values.shown(value)} is not a beat", "count from 1: 3, or 5/2")
    return str(beat)


def read_unit(value: Value, context: Context) -> str:
    """Read a beat unit, "q." or "3/8", as a fraction of a whole note; empty stays empty."""
    body = values.text(value, context)
    if not body.strip():
        return ""
    unit = parse_unit(body)
    return f"{unit.numerator}/{unit.denominator}"


def read_bpm(value: Value, context: Context) -> float:
    """Read beats a minute, above 0."""
    bpm = values.number()(value, context)
    if not 0 < bpm <= 100_000:
        raise LogbookError(
            f"a tempo of {bpm:g} never moves" if bpm <= 0 else "nobody plays that",
            "write beats a minute, such as 96",
        )
    return float(bpm)


def _pickup(value: Value, context: Context) -> str:
    body = values.text(value, context).strip()
    version = context.owner(Version)
    meter = meter_at(version, 1)
    wholes = read_pickup(body, meter)
    if wholes >= meter.bar_length:
        raise LogbookError(
            f"a pick-up of {values.shown(body)} fills a bar of {meter}",
            "make it shorter than a full bar",
        )
    return str(wholes / meter.beat_length) if wholes else ""


def _clock(value: Value, context: Context) -> str:
    body = values.text(value, context).strip()
    if not body:
        return ""
    pieces = body.split(":")
    try:
        numbers = [float(each) for each in pieces]
        fits = len(pieces) <= 3 and all(0 <= each < 60 for each in numbers[-2:])
        fits = fits and all(each.isdecimal() for each in pieces[:-1]) and numbers[0] < 100
    except ValueError:
        fits = False
    if not fits:
        raise LogbookError(
            f"{values.shown(body)} is not a time on the recorder's clock",
            "write hours, minutes and seconds, as in 10:02:15.5",
        )
    return body


SECTION = Noun(
    word="section",
    called=lambda each: f"{each.name} {each.start}-{each.start + each.bars - 1}",
    plural="sections",
    record=FormSection,
    key=("start",),
    needs=("name", "start", "bars"),
    help="one section of a version's form",
    members=(
        Field(key="name", read=values.name, help="what it is called", example="verse"),
        Field(key="start", read=read_bar, help="its first bar", example="5"),
        Field(key="bars", read=values.whole(1, LAST_BAR), help="its length in bars", example="8"),
        NOTES,
    ),
)

METER = Noun(
    word="meter",
    called=lambda change: f"{change.bar} {change.meter}",
    plural="meters",
    record=MeterChange,
    key=("bar",),
    needs=("bar", "meter"),
    help="a meter and the bar from which it holds",
    members=(
        Field(key="bar", read=values.whole(1, LAST_BAR), help="from which bar on", example="17"),
        Field(key="meter", read=values.through(parse_meter), help="beats and unit", example="6/8"),
    ),
)

TEMPO = Noun(
    word="tempo",
    called=tempo_line,
    plural="tempos",
    record=TempoChange,
    key=("bar", "beat"),
    needs=("bar", "bpm"),
    help="a tempo and the place from which it holds",
    members=(
        Field(key="bar", read=read_bar, help="from which bar on", example="33"),
        Field(key="beat", read=read_beat, help="from which beat of it on", example="3"),
        Field(key="bpm", read=read_bpm, write=values.short, help="beats a minute", example="96"),
        Field(
            key="unit",
            read=read_unit,
            help="the note value of a beat (empty: the meter's own)",
            example="1/4",
        ),
        Field(
            key="ramp_bpm",
            read=values.maybe(read_bpm),
            write=values.short,
            help="the tempo a ramp glides to",
            example="84",
        ),
        Field(
            key="ramp_unit",
            read=read_unit,
            help="its note value (empty: the same)",
            example="1/4",
        ),
        Field(
            key="ramp_end",
            read=values.through(parse_point),
            help="the bar or beat where the ramp has arrived",
            example="37",
        ),
    ),
)

VERSION = Noun(
    word="version",
    plural="versions",
    record=Version,
    key=("name",),
    help="one recorded or performed form of a song",
    members=(
        Field(key="name", read=values.name, help="what it is called", example="album"),
        Field(key="key", read=key_name, help="concert key", example="Db"),
        Collection(
            attribute="meters",
            noun="meter",
            keys=("meter", "meters"),
            whole=True,
            read_all=read_meter_lines,
            write_all=write_meter_lines,
        ),
        Collection(
            attribute="tempos",
            noun="tempo",
            keys=("tempo", "tempos"),
            whole=True,
            read_all=read_tempo_lines,
            write_all=write_tempo_lines,
        ),
        Field(
            key="pickup",
            names=("pickup_beats",),
            read=_pickup,
            help="length of a pick-up bar (bar 0), in beats",
            example="1",
        ),
        Collection(
            attribute="form",
            noun="section",
            keys=("form", "section"),
            whole=True,
            read_all=read_form_lines,
            write_all=write_form_lines,
        ),
        Field(
            key="rate",
            names=("sample_rate_hz",),
            read=values.maybe(values.whole(1000, 10_000_000, "hz")),
            help="sample rate in hertz",
            example="48000",
        ),
        A4,
        Field(
            key="isrc",
            read=values.through(read_isrc),
            help="recording code (ISO 3901)",
            example="AA-6Q7-20-00047",
        ),
        Field(key="date", read=values.iso_date, help="when it was finished", example="2026-05-03"),
        Field(
            key="bar_one_at",
            read=_clock,
            help="where bar 1 stands on the recorder's clock",
            example="10:02:15.5",
        ),
        Field(
            key="melody_low",
            read=values.checked(name_to_midi),
            help="lowest note sung",
            example="A3",
        ),
        Field(
            key="melody_high",
            read=values.checked(name_to_midi),
            help="highest note sung",
            example="D5",
        ),
        NOTES,
        Collection(attribute="roles", noun="role", keys=("people", "role", "person")),
        Collection(attribute="files", noun="file", keys=("files", "file"), implied=implied_folder),
        Collection(attribute="parts", noun="part", keys=("part", "parts")),
        Collection(
            attribute="arrangements", noun="arrangement", keys=("arrangement", "arrangements")
        ),
    ),
)

SONG = Noun(
    word="song",
    plural="songs",
    record=Song,
    key=("title",),
    help="a composition: title, writers and their shares",
    members=(
        Field(key="title", read=values.name, help="its title", example="Low Water"),
        Field(
            key="iswc",
            read=values.through(read_iswc),
            help="work code (ISO 15707)",
            example="T-034.524.680-1",
        ),
        NOTES,
        Collection(attribute="shares", noun="share", keys=("shares", "share")),
        Collection(attribute="roles", noun="role", keys=("people", "role", "person")),
        Collection(attribute="versions", noun="version", keys=("version", "versions")),
    ),
)
