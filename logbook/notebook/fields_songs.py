"""Songs and their versions, as both doors say them: key, meter, tempo, form.

The lines for meter, tempo and form are those of `logbook.notebook.time_lines`.
"""

from __future__ import annotations

from fractions import Fraction

from logbook.crediting.identifiers import read_isrc, read_iswc
from logbook.crediting.rights import read_rights
from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Context, Noun, Value, members_of
from logbook.notebook.fields_files import implied_folder
from logbook.notebook.fields_places import a4_hertz
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
from logbook.timing.tempo import MOST_BPM, parse_unit

LAST_BAR = MOST_BARS
read_bar = values.whole(0, LAST_BAR)


def key_name(value: Value, context: Context) -> str:
    """Read a key and keep it in its short form: "Db", "Bbm", "D mixolydian"."""
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
    if not 0 < bpm <= MOST_BPM:
        slow = f"a tempo of {bpm:g} is too slow"
        raise LogbookError(
            slow if bpm <= 0 else f"a tempo of {bpm:g} is too fast",
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
    members=members_of(FormSection, __name__),
)

METER = Noun(
    word="meter",
    called=lambda change: f"{change.bar} {change.meter}",
    plural="meters",
    record=MeterChange,
    key=("bar",),
    needs=("bar", "meter"),
    help="a meter and the bar from which it holds",
    members=members_of(MeterChange, __name__),
)

TEMPO = Noun(
    word="tempo",
    called=tempo_line,
    plural="tempos",
    record=TempoChange,
    key=("bar", "beat"),
    needs=("bar", "bpm"),
    help="a tempo and the place from which it holds",
    members=members_of(TempoChange, __name__),
)

VERSION = Noun(
    word="version",
    plural="versions",
    record=Version,
    key=("name",),
    help="one recorded or performed form of a song",
    members=members_of(Version, __name__),
)

SONG = Noun(
    word="song",
    plural="songs",
    record=Song,
    key=("title",),
    help="a composition: title, writers and their shares",
    members=members_of(Song, __name__),
)
