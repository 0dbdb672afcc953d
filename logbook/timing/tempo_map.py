"""The tempo map of a version: bars and beats to seconds and samples, and back.

Conventions:

* Bar 1 is the first full bar. A pick-up bar before it is bar 0, and its beats keep the numbers
  they have at the end of a full bar: a pick-up of one quarter in 4/4 is beat 0.4. The plain bar
  0 means where the pick-up begins.
* Musical time is an exact fraction of whole notes, and seconds and samples count, from the start
  of the pick-up, or of bar 1 where there is none.
* Free time is a passage without a tempo, up to the next tempo that is stated: its bars share out
  the seconds it lasted. Where nobody said how long it was, it goes by as at the tempo after it.
* A meter change falls on a bar line. A tempo change falls on any beat and holds until the next.
* In a ramp the tempo is linear in musical time: halfway through its bars it is halfway between
  its ends. At speed v = v0 + kx the time to reach x is ln(1 + kx/v0) / k (by integration of 1/v).
* Seconds are exact fractions wherever the tempo stands still. The length of a ramp is computed in
  floating point and carried on as the fraction that number is.
* A place falls on the nearest sample, halves upward. The way back gives, of all places that fall
  on that sample, a bar line if there is one, else the beat with the smallest denominator. So
  samples -> bars -> samples is always the identity, and bars -> samples -> bars is whenever a
  beat of n samples is divided in no more than about the square root of n.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from operator import attrgetter

from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint, BarRange
from logbook.timing.meter import COMMON_TIME, Meter
from logbook.timing.simplest import simplest_between
from logbook.timing.stretches import MeterAt, Ramp, TempoAt, _BarRun, _next_stretch, _Stretch
from logbook.timing.tempo import Tempo

_HALF = Fraction(1, 2)
_ONE = Fraction(1)
_start_of = attrgetter("start")
_bar_of = attrgetter("bar")


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoMap:
    """Meters, tempos and pick-up of a version, and every conversion between bars and time.

    `meters` and `tempos` are in order, the first meter at bar 1 (a tempo may start in the pick-up,
    and where the first one comes later there is free time before it);
    `pickup` is the length of bar 0 in whole notes, 0 for none.
    Raises LogbookError when they are out of order, overlap, or name places that do not exist.
    """

    meters: tuple[MeterAt, ...]
    tempos: tuple[TempoAt, ...]
    pickup: Fraction = Fraction(0)
    _runs: tuple[_BarRun, ...] = field(init=False, repr=False, compare=False)
    _stretches: tuple[_Stretch, ...] = field(init=False, repr=False, compare=False)
    _starts: dict[int, Fraction] = field(
        init=False, repr=False, compare=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        if self.tempos and self.tempos[0].start > BarPoint(1):
            # Nobody said how long it lasts: as long as at the tempo that comes.
            before = TempoAt(BarPoint(1), self.tempos[0].tempo, free=Fraction(0))
            object.__setattr__(self, "tempos", (before, *self.tempos))
        object.__setattr__(self, "_runs", self._lay_bars())
        object.__setattr__(self, "_stretches", self._lay_time())

    # Bars and musical time

    @property
    def first_bar(self) -> int:
        """0 when there is a pick-up bar, else 1."""
        return 0 if self.pickup else 1

    def meter_at(self, bar: int) -> Meter:
        """The meter of a bar; a pick-up bar has that of bar 1."""
        return self._run_of(bar).meter

    def bar_start(self, bar: int) -> Fraction:
        """Where a bar begins, in whole notes. Raises LogbookError before the first bar."""
        if bar < self.first_bar:
            raise LogbookError(f"there is no bar {bar}", f"the first bar is {self.first_bar}")
        if bar == 0:
            return Fraction(0)
        start = self._starts.get(bar)
        if start is None:
            run = self._run_of(bar)
            start = self._starts[bar] = run.start + (bar - run.bar) * run.bar_length
        return start

    def bar_length(self, bar: int) -> Fraction:
        """Length of a bar in whole notes; bar 0 is as long as the pick-up."""
        return self.bar_start(bar + 1) - self.bar_start(bar)

    def wholes_at(self, point: BarPoint) -> Fraction:
        """Musical time of a place, in whole notes.

        Raises LogbookError when there is no such bar, or no such beat in it.
        """
        start = self.bar_start(point.bar)
        if point.beat == 1:
            return start
        run = self._run_of(point.bar)
        meter = run.meter
        if not 1 <= point.beat < meter.beats + 1:
            raise LogbookError(
                f"{point} is not in bar {point.bar}, which has {meter.beats} beats",
                f"use beats 1 to {meter.beats}, or the bar after",
            )
        wholes = (point.beat - 1) * run.beat_length
        if point.bar == 0:
            # The pick-up holds the last beats of a full bar.
            wholes -= run.bar_length - self.pickup
            if wholes < 0:
                raise LogbookError(
                    f"{point} comes before the pick-up, which begins at {self.point_at(start)}",
                    "write 0 for where the pick-up begins",
                )
        return start + wholes

    def point_at(self, wholes: Fraction) -> BarPoint:
        """The place at a musical time in whole notes. Raises LogbookError below 0."""
        if wholes < 0:
            raise LogbookError(
                f"{-wholes} of a whole note before the start is in no bar",
                f"the music starts at bar {self.first_bar}",
            )
        if wholes < self.pickup:
            meter = self.meter_at(1)
            inside = wholes + meter.bar_length - self.pickup
            return BarPoint(0, 1 + inside / meter.beat_length)
        run = self._run_at(wholes)
        bars, inside = divmod(wholes - run.start, run.bar_length)
        return BarPoint(run.bar + bars, 1 + inside / run.beat_length if inside else _ONE)

    def range_between(self, start: Fraction, end: Fraction) -> BarRange:
        """The range between two musical times; one from the pick-up's start begins at plain 0."""
        first = self.point_at(start)
        return BarRange(BarPoint(0) if start == 0 < self.pickup else first, self.point_at(end))

    def span_of(self, bars: BarRange) -> tuple[Fraction, Fraction]:
        """Where a range begins and ends, in whole notes.

        Raises as `wholes_at` does, and LogbookError when nothing lies between.
        """
        start, end = self.wholes_at(bars.start), self.wholes_at(bars.end)
        if start >= end:
            raise LogbookError(f"{bars} holds no music", "let it end after it begins")
        return start, end

    def bars_between(self, start: Fraction, end: Fraction) -> Fraction:
        """Length between two musical times in bars; a part of a bar counts as its fraction.

        A pick-up counts as the fraction of a full bar it fills.
        """
        return self._bar_count(end) - self._bar_count(start)

    # Musical time and seconds

    def seconds_at_wholes(self, wholes: Fraction) -> Fraction:
        """Seconds from the start to a musical time in whole notes."""
        stretch = self._stretch_at(wholes)
        return stretch.seconds + stretch.seconds_to(wholes - stretch.start)

    def wholes_at_seconds(self, seconds: Fraction) -> Fraction:
        """Musical time in whole notes, `seconds` after the start."""
        stretch = self._stretches[
            max(bisect_right(self._stretches, seconds, key=lambda each: each.seconds) - 1, 0)
        ]
        return stretch.start + stretch.wholes_in(seconds - stretch.seconds)

    def seconds_at(self, point: BarPoint) -> Fraction:
        """Seconds from the start to a place. Raises as `wholes_at` does."""
        return self.seconds_at_wholes(self.wholes_at(point))

    def seconds_of(self, bars: BarRange) -> Fraction:
        """How long a range lasts, in seconds. Raises as `wholes_at` does."""
        return self.seconds_at(bars.end) - self.seconds_at(bars.start)

    def tempo_at(self, point: BarPoint) -> Tempo:
        """The tempo at a place, in the unit last stated; inside a ramp where it has got to."""
        wholes = self.wholes_at(point)
        stretch = self._stretch_at(wholes)
        speed = stretch.speed + stretch.slope * max(wholes - stretch.start, Fraction(0))
        return Tempo(speed * 60 / stretch.unit, stretch.unit)

    def scaled(self, ratio: Fraction) -> TempoMap:
        """The same bars with every tempo `ratio` times as fast, ramps included.

        Raises LogbookError when the ratio is not above 0.
        """
        return TempoMap(
            meters=self.meters,
            tempos=tuple(
                TempoAt(
                    change.start,
                    change.tempo.scaled(ratio),
                    change.ramp and Ramp(change.ramp.end, change.ramp.tempo.scaled(ratio)),
                    change.free,
                )
                for change in self.tempos
            ),
            pickup=self.pickup,
        )

    # Samples

    def sample_at(self, point: BarPoint, rate_hz: int) -> int:
        """The sample nearest to a place, from 0 at the start. Raises as `wholes_at` does."""
        return self.sample_at_wholes(self.wholes_at(point), rate_hz)

    def sample_at_wholes(self, wholes: Fraction, rate_hz: int) -> int:
        """The sample nearest to a musical time in whole notes, halves upward."""
        return nearest_sample(self.seconds_at_wholes(wholes), rate_hz)

    def samples_of(self, bars: BarRange, rate_hz: int) -> tuple[int, int]:
        """First sample of a range and the one after its last. Raises as `wholes_at` does."""
        return self.sample_at(bars.start, rate_hz), self.sample_at(bars.end, rate_hz)

    def point_at_sample(self, sample: int, rate_hz: int) -> BarPoint:
        """The simplest place that falls on a sample; see the module. Raises below sample 0."""
        if sample < 0:
            raise LogbookError(
                f"sample {sample} is before the start", f"the music starts at bar {self.first_bar}"
            )
        point = BarPoint(self.first_bar)
        # Along a ramp the edges are floating point: look a little wider, then a little narrower.
        for margin in (Fraction(0), Fraction(1, 10**6), Fraction(-1, 10**6)):
            low = (sample - _HALF - margin) / rate_hz
            high = (sample + _HALF + margin) / rate_hz
            point = self._simplest_point(low, high)
            if self.sample_at(point, rate_hz) == sample:
                break
        return point

    def point_at_seconds(self, seconds: Fraction) -> BarPoint:
        """The place `seconds` after the start, not snapped. Raises LogbookError below 0."""
        return self.point_at(self.wholes_at_seconds(seconds))

    # How the map is laid out

    def _simplest_point(self, low_seconds: Fraction, high_seconds: Fraction) -> BarPoint:
        low = max(self.wholes_at_seconds(low_seconds), Fraction(0))
        high = self.wholes_at_seconds(high_seconds)
        first, last = self.point_at(low), self.point_at(high)
        if low == 0 or first.beat == 1:
            return first
        if first.bar != last.bar and self.bar_start(first.bar + 1) < high:
            return BarPoint(first.bar + 1)
        meter = self.meter_at(first.bar)
        end = first.beat + (high - low) / meter.beat_length
        return BarPoint(first.bar, simplest_between(first.beat, end))

    def _run_of(self, bar: int) -> _BarRun:
        runs = self._runs
        if len(runs) == 1:
            return runs[0]
        return runs[max(bisect_right(runs, bar, key=_bar_of) - 1, 0)]

    def _run_at(self, wholes: Fraction) -> _BarRun:
        """The bars of one meter at a musical time after the pick-up."""
        runs = self._runs
        return runs[bisect_right(runs, wholes, key=_start_of) - 1 if len(runs) > 1 else 0]

    def _stretch_at(self, wholes: Fraction) -> _Stretch:
        stretches = self._stretches
        if len(stretches) == 1:
            return stretches[0]
        return stretches[max(bisect_right(stretches, wholes, key=_start_of) - 1, 0)]

    def _bar_count(self, wholes: Fraction) -> Fraction:
        if wholes >= self.pickup:
            run = self._run_at(wholes)
            return run.bar + (wholes - run.start) / run.bar_length
        point = self.point_at(wholes)
        return point.bar + (point.beat - 1) / self.meter_at(point.bar).beats

    def _lay_bars(self) -> tuple[_BarRun, ...]:
        if not self.meters or self.meters[0].bar != 1:
            raise LogbookError("the tempo map has no meter at bar 1", 'give one, as in "1 4/4"')
        runs: list[_BarRun] = []
        start = self.pickup
        for change in self.meters:
            if runs:
                before = runs[-1]
                if change.bar <= before.bar:
                    raise LogbookError(
                        f"the meter at bar {change.bar} stands after the one at bar {before.bar}",
                        "list meters in the order of their bars, one to a bar",
                    )
                start = before.start + (change.bar - before.bar) * before.meter.bar_length
            meter = change.meter
            runs.append(_BarRun(change.bar, start, meter, meter.bar_length, meter.beat_length))
        if not 0 <= self.pickup < runs[0].meter.bar_length:
            raise LogbookError(
                f"a pick-up of {self.pickup} of a whole note does not fit before a bar of "
                f"{runs[0].meter}",
                "make it shorter than a full bar",
            )
        return tuple(runs)

    def is_free(self, wholes: Fraction) -> bool:
        """Whether there is no tempo at a musical time."""
        before = [each for each in self.tempos if self._start_of(each) <= wholes]
        return bool(before) and before[-1].free is not None

    def _start_of(self, change: TempoAt) -> Fraction:
        """Where a tempo begins; a first one at bar 1 holds for the pick-up as well."""
        early = change is self.tempos[0] and change.start <= BarPoint(1)
        return Fraction(0) if early else self.wholes_at(change.start)

    def _speed(self, place: int) -> Fraction:
        """Whole notes a second where the tempo at a place of the list begins."""
        change = self.tempos[place]
        after = self.tempos[place + 1] if place + 1 < len(self.tempos) else None
        if change.free is None or after is None:
            return change.tempo.wholes_a_second
        if not change.free:
            return self._speed(place + 1)
        length = self.wholes_at(after.start) - self._start_of(change)
        if length <= 0:
            raise LogbookError(
                f"the free time at {change.start} ends before it has begun",
                "list tempos in the order of their bars, one to a place",
            )
        return length / change.free

    def _lay_time(self) -> tuple[_Stretch, ...]:
        if not self.tempos:
            raise LogbookError(
                "the tempo map has no tempo at its start", 'give one, as in "1 q=96"'
            )
        # A first tempo stated at bar 1 holds for the pick-up as well.
        first = self.tempos[0].tempo
        speed = self._speed(0)
        stretches = [_Stretch(Fraction(0), Fraction(0), speed, Fraction(0), first.unit)]
        before: TempoAt | None = None
        for place, change in enumerate(self.tempos):
            if before and (
                change.start <= before.start or (before.ramp and change.start < before.ramp.end)
            ):
                raise LogbookError(
                    f"the tempo at {change.start} begins before the one above it has ended",
                    "list tempos in the order of their bars, one to a place",
                )
            before = change
            start = self.wholes_at(change.start)
            speed, unit = self._speed(place), change.tempo.unit
            if change.ramp is None:
                stretches.append(_next_stretch(stretches[-1], start, speed, Fraction(0), unit))
                continue
            end, goal = self.wholes_at(change.ramp.end), change.ramp.tempo
            if end <= start:
                raise LogbookError(
                    f"the ramp from {change.start} ends at {change.ramp.end}, before it has begun",
                    'give it some bars, as in "33-36 q=96>84"',
                )
            slope = (goal.wholes_a_second - speed) / (end - start)
            stretches.append(_next_stretch(stretches[-1], start, speed, slope, unit))
            stretches.append(
                _next_stretch(stretches[-1], end, goal.wholes_a_second, Fraction(0), goal.unit)
            )
        return tuple(stretches)


def constant_tempo(
    tempo: Tempo, meter: Meter = COMMON_TIME, pickup: Fraction = Fraction(0)
) -> TempoMap:
    """The map of music in one meter at one tempo, with a pick-up of `pickup` whole notes."""
    return TempoMap(
        meters=(MeterAt(1, meter),),
        tempos=(TempoAt(BarPoint(1), tempo),),
        pickup=pickup,
    )


def nearest_sample(seconds: Fraction, rate_hz: int) -> int:
    """The sample nearest to a time in seconds, halves upward."""
    return math.floor(seconds * rate_hz + _HALF)
