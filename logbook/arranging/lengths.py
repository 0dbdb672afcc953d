"""How long the arrangement is, what its tempo asks of hands and delays, and backing tracks.

Conventions. Lengths are exact seconds from the tempo maps. A section's length on the record is
that of the bars it comes from. A vamp counts once, and is said to. Formulas: a beat lasts
60000 / tempo milliseconds, a speed ratio r shifts pitch by 1200 log2 r cents (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.form import first_origin
from logbook.errors import LogbookError
from logbook.records.context import tempo_map_of
from logbook.records.parts import Part
from logbook.records.songs import Version
from logbook.strings.picking import PickingPattern, read_pattern
from logbook.timing.bars import BarPoint
from logbook.timing.tempo import NoteValue, Tempo, note_values, speed_cents, stretch_factor
from logbook.timing.tempo_map import TempoMap


class SectionLength(NamedTuple):
    """A section of the arranged form, all passes together, in seconds.

    `recorded` is the length of the bars it comes from, once through, None where it is new.
    `tempo` is the one it begins in.
    """

    name: str
    bars: int
    times: int
    vamp: bool
    seconds: Fraction
    recorded: Fraction | None
    tempo: Tempo


class Lengths(NamedTuple):
    """Lengths in seconds: of each section, of the song and of the record (None: not known).

    `count_in` comes before bar one and is not part of `total`; `vamps` name sections whose
    length is open, counted once.
    """

    sections: tuple[SectionLength, ...]
    count_in: Fraction
    total: Fraction
    recorded: Fraction | None
    vamps: tuple[str, ...]


def tempo_map(arranged: ArrangedVersion) -> TempoMap:
    """The tempo map of what is played. Raises LogbookError where no tempo is known."""
    found = tempo_map_of(arranged.version)
    if found is None:
        raise LogbookError(
            f"{arranged.title} has no tempo", "give the version one, or the arrangement: 96"
        )
    return found


def last_bar(arranged: ArrangedVersion) -> int:
    """The last bar that is played, of the form or, where there is none, of the charts."""
    ends = [passage.end - 1 for passage in arranged.form.passages]
    if not ends:
        parts = filter(None, (*arranged.version.parts, arranged.charted))
        ends = [entry.bar for part in parts for entry in part.chart]
    return max(ends, default=1)


def lengths_of(arranged: ArrangedVersion) -> Lengths:
    """Work all lengths out. Raises LogbookError where no tempo is known."""
    now = tempo_map(arranged)
    then = tempo_map_of(arranged.recorded)
    sections = []
    for passage in arranged.form.passages:
        if passage.number != 1:
            continue
        end = passage.start + passage.bars * passage.times
        recorded = _recorded_seconds(passage.origins, then) if then else None
        sections.append(
            SectionLength(
                passage.name,
                passage.bars,
                passage.times,
                passage.vamp,
                _between(now, passage.start, end),
                recorded,
                now.tempo_at(BarPoint(passage.start)),
            )
        )
    return Lengths(
        tuple(sections),
        count_in_seconds(arranged),
        now.seconds_at(BarPoint(last_bar(arranged) + 1)),
        _record_length(arranged.recorded, then),
        tuple(each.name for each in sections if each.vamp),
    )


def count_in_seconds(arranged: ArrangedVersion) -> Fraction:
    """How long the bars clicked before the music last; a pick-up fills the end of the last."""
    now = tempo_map(arranged)
    bars = arranged.arrangement.count_in_bars
    if not bars:
        return Fraction(0)
    wholes = bars * now.meter_at(1).bar_length - now.pickup
    return wholes / now.tempo_at(BarPoint(now.first_bar)).wholes_a_second


def _between(bars: TempoMap, start: int, end: int) -> Fraction:
    return bars.seconds_at(BarPoint(end)) - bars.seconds_at(BarPoint(start))


def _recorded_seconds(origins: tuple[int | None, ...], then: TempoMap) -> Fraction | None:
    if not origins or None in origins:
        return None
    runs: list[list[int]] = []  # bars in a row need only be timed from end to end
    for bar in origins:
        assert bar is not None, "none is missing"
        if runs and runs[-1][1] == bar:
            runs[-1][1] = bar + 1
        else:
            runs.append([bar, bar + 1])
    return sum((_between(then, start, end) for start, end in runs), start=Fraction(0))


def _record_length(recorded: Version, then: TempoMap | None) -> Fraction | None:
    if then is None:
        return None
    ends = [section.start + section.bars for section in recorded.form]
    ends = ends or [entry.bar + 1 for part in recorded.parts for entry in part.chart]
    return then.seconds_at(BarPoint(max(ends))) if ends else None


def length_text(seconds: Fraction | float) -> str:
    """A length as people say it: 3:05, with tenths under a minute: 12.9 s."""
    tenths = round(seconds * 10)
    if tenths < 600:
        return f"{tenths / 10:.1f} s"
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


# Tempo


class Backing(NamedTuple):
    """A recorded backing track at the new tempo, where the arrangement begins.

    `factor` is how many times as long it becomes when stretched; played at another speed
    instead, its pitch moves by `cents`; `for_key_cents` is what the new key wants.
    """

    recorded: Tempo
    now: Tempo
    factor: Fraction
    cents: float
    for_key_cents: int


def backing_of(arranged: ArrangedVersion) -> Backing | None:
    """The stretch of a backing track; None where one of the tempos is not known."""
    then = tempo_map_of(arranged.recorded)
    now = tempo_map_of(arranged.version)
    if then is None or now is None:
        return None
    recorded, played = (
        then.tempo_at(BarPoint(first_origin(arranged.form))),
        now.tempo_at(BarPoint(1)),
    )
    factor = stretch_factor(recorded, played)
    return Backing(recorded, played, factor, speed_cents(1 / factor), 100 * arranged.steps)


def delay_times(arranged: ArrangedVersion) -> tuple[NoteValue, ...]:
    """Note values in milliseconds at the tempo of bar one, straight, dotted and triplet."""
    return note_values(tempo_map(arranged).tempo_at(BarPoint(1)))


class PatternPace(NamedTuple):
    """Strokes a second of a part's pattern: on average and at its quickest, now and then.

    `then` and `then_fastest` are None where the record's tempo is not known.
    """

    part: str
    pattern: str
    bar: int
    now: float
    fastest: float
    then: float | None
    then_fastest: float | None


def paces_of(arranged: ArrangedVersion) -> tuple[PatternPace, ...]:
    """How many strokes a second each pattern asks for, where it first comes in."""
    now, then = tempo_map(arranged), tempo_map_of(arranged.recorded)
    return tuple(
        pace
        for plan in arranged.parts
        if plan.part
        for pace in _paces(plan.part, now, then, arranged)
    )


def _paces(
    part: Part, now: TempoMap, then: TempoMap | None, arranged: ArrangedVersion
) -> Iterator[PatternPace]:
    for pattern in part.patterns:
        bar = next((each.bar for each in part.chart if each.pattern == pattern.label), None)
        if bar is None:
            continue
        read = read_pattern(pattern.line, pattern.grid, now.meter_at(bar), pattern.feel)
        origin = arranged.form.origins.get(bar)
        tempo = now.tempo_at(_first_point(bar, now))
        recorded = (
            then.tempo_at(_first_point(origin, then)) if then and origin is not None else None
        )
        yield PatternPace(
            part.name,
            pattern.label,
            bar,
            *_pace(read, tempo),
            *(_pace(read, recorded) if recorded else (None, None)),
        )


def _first_point(bar: int, bars: TempoMap) -> BarPoint:
    return BarPoint(max(bar, bars.first_bar))


def _pace(pattern: PickingPattern, tempo: Tempo) -> tuple[float, float]:
    return pattern.strokes_a_second(tempo), pattern.fastest_strokes_a_second(tempo)
