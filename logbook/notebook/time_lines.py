"""Meters, tempos and the form, each as the lines people type, read into records and back.

* Meter and tempo lines are those of `logbook.timing.map_text`: "6/8" or "17 6/8"; "96", "q=96",
  "33 q=88", and "33-36 q=96>84" for a ramp that has arrived where bar 37 begins.
* Form lines are "intro 1-4", or "verse 8 bars" for one that follows the line before.
* Where a line has no room for something a table has it: { name = "intro", start = 1, bars = 4 }.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import AllRead, Context, Record, Value
from logbook.records import FormSection, MeterChange, TempoChange, Version
from logbook.timing.bars import BarPoint, BarRange, parse_point, parse_range
from logbook.timing.map_text import free_text, read_meters, read_tempos
from logbook.timing.meter import COMMON_TIME, Meter, parse_meter
from logbook.timing.stretches import MeterAt as MeterAt
from logbook.timing.stretches import TempoAt as TempoAt
from logbook.timing.tempo import Tempo, parse_unit, unit_text

_LENGTH = re.compile(r"(?P<name>.+?)\s+(?P<bars>\d+)\s*bars?", re.S | re.I)
_RANGE = re.compile(r"(?P<name>.+?)\s+(?P<bars>\d+(?:-\d+)?)", re.S)

TableReader = Callable[[dict[str, Any], Context], Record]


def meter_map(version: Version | None) -> tuple[MeterAt, ...]:
    """Return a version's meters as the timing room takes them; 4/4 where none is said."""
    return _meters(version.meters if version else ())


@lru_cache(maxsize=256)
def _meters(changes: tuple[MeterChange, ...]) -> tuple[MeterAt, ...]:
    meters = tuple(MeterAt(each.bar, parse_meter(each.meter)) for each in changes)
    return meters if meters and meters[0].bar == 1 else (MeterAt(1, COMMON_TIME), *meters)


def meter_at(version: Version | None, bar: int) -> Meter:
    """Return the meter that holds at a bar."""
    meters = meter_map(version)
    if len(meters) == 1:
        return meters[0].meter
    found = COMMON_TIME
    for change in sorted(meters, key=lambda each: each.bar):
        if change.bar <= max(bar, 1):
            found = change.meter
    return found


def first_beat(version: Version | None, bar: int) -> Fraction:
    """Return the beat a bar begins with: 1, except in the pick-up, which ends like a full bar.

    Raises LogbookError for bar 0 of a version that has no pick-up.
    """
    if bar or version is None:
        return Fraction(1)
    if not version.pickup_beats:
        raise LogbookError(
            "there is no bar 0, since the version has no pick-up",
            'count from bar 1, or say its length with pickup = "1 q"',
        )
    return meter_at(version, 1).beats + 1 - Fraction(version.pickup_beats)


def reached(version: Version | None, bar: int, beat: Fraction) -> Fraction:
    """Return a beat that its bar reaches; in the pick-up, 1 means where it begins.

    Raises LogbookError for a beat before the pick-up.
    """
    first = first_beat(version, bar)
    if 1 < beat < first:
        raise LogbookError(
            f"beat {beat} of bar 0 comes before the pick-up, which begins on beat {first}",
            f"write {first}, or no beat for where the pick-up begins",
        )
    return beat


def point(bar: int, beat: str) -> BarPoint:
    """Return a record's bar and beat as a place."""
    return BarPoint(bar, Fraction(beat))


def read_meter_lines(items: Sequence[Value], context: Context) -> AllRead:
    """Read meter lines (or the records that tables gave) into a version's meters."""
    result = AllRead()
    for index, item in enumerate(items):
        if not isinstance(item, str):
            result.records.append(item)
            continue
        try:
            (change,) = read_meters([item])
        except LogbookError as error:
            result.errors.append((index, error))
        else:
            result.records.append(MeterChange(bar=change.bar, meter=str(change.meter)))
    return result


def write_meter_lines(meters: tuple[Record, ...], context: Context) -> list[Value]:
    """Write a version's meters as lines."""
    if len(meters) == 1 and meters[0].bar == 1:
        return [meters[0].meter]
    return [f"{each.bar} {each.meter}" for each in meters]


def read_tempo_lines(items: Sequence[Value], context: Context) -> AllRead:
    """Read tempo lines (or the records that tables gave) into a version's tempos."""
    result = AllRead()
    meters = meter_map(context.owner(Version))
    reached: tuple[Tempo, str] | None = None
    for index, item in enumerate(items):
        if not isinstance(item, str):
            result.records.append(item)
            reached = None
            continue
        try:
            before = [f"1 {reached[0]}"] if reached else []
            change = read_tempos([*before, item], meters)[-1]
        except LogbookError as error:
            result.errors.append((index, error))
            continue
        record = _tempo_record(item, change, reached[1] if reached else "")
        result.records.append(record)
        reached = change.tempo, record.unit
        if change.ramp is not None:
            reached = change.ramp.tempo, record.ramp_unit or record.unit
    return result


def _tempo_record(line: str, change: TempoAt, unit_before: str) -> TempoChange:
    start_text, arrow, goal_text = line.strip().partition(">")
    starts_from_before = bool(arrow) and not start_text.partition(" ")[2].strip()
    unit = _unit(change.tempo.unit) if "=" in start_text else ""
    if starts_from_before:
        unit = unit_before
    record = TempoChange(
        bar=change.start.bar, beat=str(change.start.beat), bpm=float(change.tempo.bpm), unit=unit
    )
    if change.free is not None:
        return replace(record, bpm=60.0, unit="", free_s=float(change.free))
    if change.ramp is None:
        return record
    return replace(
        record,
        ramp_bpm=float(change.ramp.tempo.bpm),
        ramp_unit=_unit(change.ramp.tempo.unit) if "=" in goal_text else "",
        ramp_end=str(change.ramp.end),
    )


def _unit(unit: Fraction) -> str:
    return f"{unit.numerator}/{unit.denominator}"


def write_tempo_lines(tempos: tuple[Record, ...], context: Context) -> list[Value]:
    """Write a version's tempos as lines."""
    first = tempos[0] if len(tempos) == 1 else None
    steady = first is not None and first.ramp_bpm is None and first.free_s is None
    if first and steady and (first.bar, first.beat) == (1, "1"):
        return [_tempo_text(first.bpm, first.unit)]
    return [tempo_line(each) for each in tempos]


def tempo_line(each: TempoChange) -> str:
    """Write one tempo as its line."""
    start = point(each.bar, each.beat)
    if each.free_s is not None:
        return f"{start} {free_text(each.free_s)}"
    tempo = _tempo_text(each.bpm, each.unit)
    if each.ramp_bpm is None:
        return f"{start} {tempo}"
    bars = BarRange(start, parse_point(each.ramp_end))
    return f"{bars} {tempo}>{_tempo_text(each.ramp_bpm, each.ramp_unit)}"


def _tempo_text(bpm: float, unit: str) -> str:
    number = repr(values.short(bpm))
    return f"{unit_text(parse_unit(unit))}={number}" if unit else number


def read_form_lines(items: Sequence[Value], context: Context) -> AllRead:
    """Read form lines (or the records that tables gave) into a version's sections."""
    result = AllRead()
    following = 1
    for index, item in enumerate(items):
        try:
            section = _section(item, following) if isinstance(item, str) else item
        except LogbookError as error:
            result.errors.append((index, error))
        else:
            result.records.append(section)
            following = section.start + section.bars
    return result


def _section(line: str, following: int) -> FormSection:
    body = line.strip()
    if found := _LENGTH.fullmatch(body):
        start, bars = following, int(found["bars"])
    elif found := _RANGE.fullmatch(body):
        span = parse_range(found["bars"])
        start, bars = span.start.bar, len(span.bars)
    else:
        raise LogbookError(
            f"{values.shown(line)} does not give a section and its bars",
            'write it as in "verse 5-12", or "verse 8 bars" for one that follows',
        )
    if not 1 <= bars <= 100_000 or start > 100_000:
        raise LogbookError(
            f"a section of {bars} bars from bar {start} is impossible", "write 1 or more"
        )
    return FormSection(name=found["name"].strip(), start=start, bars=bars)


def write_form_lines(form: tuple[Record, ...], context: Context) -> list[Value]:
    """Write a version's sections as lines; one with notes stays a record."""
    return [
        each if each.notes else f"{each.name} {_bars_text(each.start, each.bars)}" for each in form
    ]


def _bars_text(start: int, bars: int) -> str:
    return str(BarRange(BarPoint(start), BarPoint(start + bars)))
