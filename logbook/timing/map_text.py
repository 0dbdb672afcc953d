"""Tempo maps as people type them, and as the program writes them back.

* Meters: "4/4", or one line for each change with its bar first: "1 4/4", "17 6/8".
* Tempos: "96", or one line for each change with its place first: "1 q=96", "17.3 q=88". Two bars
  and two tempos are a ramp over these bars, both included: "33-36 q=96>84". It starts from the
  tempo before it when that is left out: "33-36 >84". A goal without a unit is in the unit of its
  start.
* Free time: "1 free" or, with how long it was, "1 free 12.5 s": no tempo up to the next line.
* A bare number counts the felt beat of the meter at that bar: dotted quarters in 6/8.
* Pick-up: a note value with how many of it, "3 e", "1 q", a fraction of a whole note "3/8", or
  a number of the meter's written beats, "3". Empty or "0" is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.numerals import MOST_BARS, read_up_to
from logbook.timing.bars import BarPoint, BarRange, parse_point, parse_range
from logbook.timing.meter import Meter, parse_meter
from logbook.timing.stretches import MeterAt, Ramp, TempoAt
from logbook.timing.tempo import Tempo, parse_tempo, parse_unit, unit_text
from logbook.timing.tempo_map import TempoMap

_FREE = re.compile(r"free(?:\s+(?P<seconds>\d{1,6}(?:\.\d{1,6})?)\s*s?)?", re.I)
_ARROW = re.compile(r"-?>|→|\bto\b", re.I)
_METER_FORMS = 'write the bar and the meter, as in "17 6/8"'
_TEMPO_FORMS = 'write the bar and the tempo, as in "17 q=96", or a ramp, as in "33-36 q=96>84"'


def read_tempo_map(
    meters: str | Sequence[str], tempos: str | Sequence[str], pickup: str = ""
) -> TempoMap:
    """Build a tempo map from its text forms, each one text or a list of lines.

    Raises LogbookError naming the line that cannot be read, or what does not fit together.
    """
    meter_changes = read_meters(_lines(meters))
    return TempoMap(
        meters=meter_changes,
        tempos=read_tempos(_lines(tempos), meter_changes),
        pickup=read_pickup(pickup, meter_changes[0].meter),
    )


def read_meters(lines: Iterable[str]) -> tuple[MeterAt, ...]:
    """Read meter lines; a meter without a bar is the one at bar 1.

    Raises LogbookError naming the line that cannot be read, or when there is none.
    """
    changes = []
    for line in lines:
        bar_text, space, meter_text = line.strip().partition(" ")
        if not space:
            bar_text, meter_text = "1", bar_text
        if not bar_text.isdecimal():
            raise LogbookError(f'"{line.strip()}" is not a meter change', _METER_FORMS)
        changes.append(
            MeterAt(read_up_to(MOST_BARS, bar_text, "bar"), parse_meter(meter_text.strip()))
        )
    if not changes:
        raise LogbookError("no meter is given", 'give one, as in "4/4"')
    return tuple(changes)


def read_tempos(lines: Iterable[str], meters: Sequence[MeterAt]) -> tuple[TempoAt, ...]:
    """Read tempo lines; a tempo without a place is the one at bar 1.

    Raises LogbookError naming the line that cannot be read.
    """
    changes: list[TempoAt] = []
    for line in lines:
        place, space, tempo_text = line.strip().partition(" ")
        if not space:
            place, tempo_text = "1", place
        try:
            changes.append(_read_change(place, tempo_text.strip(), meters, changes))
        except LogbookError as error:
            raise LogbookError(
                f'the tempo line "{line.strip()}" cannot be read: {error.problem}',
                error.remedy or _TEMPO_FORMS,
            ) from error
    if not changes:
        raise LogbookError("no tempo is given", 'give one, as in "q=96"')
    return tuple(changes)


def read_pickup(text: str, meter: Meter) -> Fraction:
    """Read the length of a pick-up as a fraction of a whole note; `meter` is that of bar 1.

    Raises LogbookError when it is no length.
    """
    words = text.split()
    try:
        if not words:
            return Fraction(0)
        if len(words) == 1:
            count = Fraction(words[0])
            length = count if "/" in words[0] else count * meter.beat_length
        else:
            length = Fraction(words[0]) * parse_unit(" ".join(words[1:]))
    except (ValueError, ZeroDivisionError):
        length = Fraction(-1)
    if length < 0:
        raise LogbookError(
            f'"{text}" is not the length of a pick-up',
            'write "3 e", "1 q", "3/8" of a whole note, or a number of beats such as "1"',
        )
    return length


def meter_lines(tempo_map: TempoMap) -> list[str]:
    """The meters as `read_meters` reads them back: ["4/4"] or ["1 4/4", "17 6/8"]."""
    if len(tempo_map.meters) == 1:
        return [str(tempo_map.meters[0].meter)]
    return [f"{change.bar} {change.meter}" for change in tempo_map.meters]


def tempo_lines(tempo_map: TempoMap) -> list[str]:
    """The tempos as `read_tempos` reads them back, each with its unit."""
    if len(tempo_map.tempos) == 1 and tempo_map.tempos[0] == _plain(tempo_map.tempos[0].tempo):
        return [str(tempo_map.tempos[0].tempo)]
    return [_change_line(change) for change in tempo_map.tempos]


def pickup_text(tempo_map: TempoMap) -> str:
    """The pick-up as `read_pickup` reads it back: "1 q", "3 e", or "" for none."""
    if not tempo_map.pickup:
        return ""
    unit = tempo_map.meters[0].meter.beat_length
    if unit.denominator > 16:
        return f"{tempo_map.pickup.numerator}/{tempo_map.pickup.denominator}"
    return f"{tempo_map.pickup / unit} {unit_text(unit)}"


def _read_change(
    place: str, text: str, meters: Sequence[MeterAt], before: Sequence[TempoAt]
) -> TempoAt:
    free = _FREE.fullmatch(text.strip())
    if free is not None:
        last = before[-1] if before else None
        tempo = (last.ramp.tempo if last.ramp else last.tempo) if last else Tempo(Fraction(60))
        return TempoAt(parse_point(place), tempo, None, Fraction(free["seconds"] or 0))
    start_text, *goals = _ARROW.split(text, maxsplit=1)
    if not goals:
        point = parse_point(place)
        return TempoAt(point, parse_tempo(text, _meter_at(meters, point.bar)))
    bars = parse_range(place)
    if start_text.strip():
        start = parse_tempo(start_text, _meter_at(meters, bars.start.bar))
    elif before:
        last = before[-1]
        start = last.ramp.tempo if last.ramp else last.tempo
    else:
        raise LogbookError("the ramp starts from no tempo", _TEMPO_FORMS)
    (goal_text,) = goals
    goal = goal_text if "=" in goal_text else f"{unit_text(start.unit)}={goal_text.strip()}"
    return TempoAt(bars.start, start, Ramp(bars.end, parse_tempo(goal)))


def _change_line(change: TempoAt) -> str:
    if change.free is not None:
        return f"{change.start} {free_text(change.free)}"
    if change.ramp is None:
        return f"{change.start} {change.tempo}"
    goal = str(change.ramp.tempo)
    if change.ramp.tempo.unit == change.tempo.unit:
        goal = goal.partition("=")[2]
    return f"{BarRange(change.start, change.ramp.end)} {change.tempo}>{goal}"


def free_text(seconds: Fraction | float) -> str:
    """Free time as its line says it: "free 12.5 s", or "free" where its length is not known."""
    number = f"{float(seconds):.6f}".rstrip("0").rstrip(".")
    return f"free {number} s" if seconds else "free"


def _plain(tempo: Tempo) -> TempoAt:
    return TempoAt(BarPoint(1), tempo)


def _meter_at(meters: Sequence[MeterAt], bar: int) -> Meter:
    found = meters[0].meter
    for change in meters:
        if change.bar <= bar:
            found = change.meter
    return found


def _lines(text: str | Sequence[str]) -> list[str]:
    if isinstance(text, str):
        return [line for line in text.splitlines() if line.strip()]
    return [line for line in text if line.strip()]
