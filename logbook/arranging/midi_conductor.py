"""The first track of a MIDI file: tempo, meter, key and markers."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Any

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.clicks import ClickTrack
from logbook.arranging.midi_events import META, TICKS_A_QUARTER, Event, to_ticks
from logbook.arranging.road_words import passage_words
from logbook.arranging.sections import section_keys
from logbook.arranging.words import words_at
from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap

_RAMP_STEP = Fraction(1, 64)
_LONG_STRETCH = Fraction(512, 4)
_SLOWEST_US = 0xFFFFFF


def conductor(arranged: ArrangedVersion, track: ClickTrack) -> Iterator[Event]:
    """Yield tempo, meter, key and markers of an arrangement at their ticks."""
    import mido

    def meta(wholes: Fraction, kind: str, **values: Any) -> Event:
        return Event(to_ticks(wholes), META, mido.MetaMessage(kind, **values))

    if arranged.key is not None:
        yield meta(Fraction(0), "key_signature", key=arranged.key.signature_key.short)
        for bar, key in section_keys(arranged.form, arranged.key):
            at = track.lead_wholes + track.bars.bar_start(bar)
            yield meta(at, "key_signature", key=key.signature_key.short)
    for wholes, numerator, denominator, felt in _meters(track):
        yield meta(
            wholes,
            "time_signature",
            numerator=numerator,
            denominator=denominator,
            clocks_per_click=max(1, min(255, int(felt * 96))),
        )
    for wholes, microseconds in tempo_events(track):
        yield meta(wholes, "set_tempo", tempo=microseconds)
    if track.count_in_bars:
        yield meta(Fraction(0), "marker", text="count-in")
    for passage in arranged.form.passages:
        text = passage.name
        if passage.times > 1:
            text += f" ({passage.number} of {passage.times})"
        if passage.vamp:
            text += " (vamp)"
        words = passage_words(passage) if passage.number == 1 else ()
        text += "".join(f"; {each}" for each in words)
        at = track.lead_wholes + track.bars.bar_start(max(passage.start, track.bars.first_bar))
        yield meta(at, "marker", text=text)
    for at, line in words_at(arranged.version.lyrics, track.bars):
        yield meta(track.lead_wholes + at, "lyrics", text=line)


def _meters(track: ClickTrack) -> Iterator[tuple[Fraction, int, int, Fraction]]:
    """Where each meter begins: whole notes, beats, unit, felt beat."""
    bars = track.bars
    first = bars.meter_at(1)
    if bars.pickup and not track.count_in_bars:
        yield Fraction(0), *_short_bar(bars.pickup, first.unit), first.felt_beat_length
        yield bars.pickup, first.beats, first.unit, first.felt_beat_length
    else:
        yield Fraction(0), first.beats, first.unit, first.felt_beat_length
    for change in bars.meters[1:]:
        at = track.lead_wholes + bars.bar_start(change.bar)
        yield at, change.meter.beats, change.meter.unit, change.meter.felt_beat_length


def _short_bar(pickup: Fraction, unit: int) -> tuple[int, int]:
    """A pick-up as a meter: the coarsest unit in which it is whole, 1/128 at the finest."""
    while (pickup * unit).denominator != 1 and unit < 128:
        unit *= 2
    return max(round(pickup * unit), 1), unit


def tempo_events(track: ClickTrack) -> tuple[tuple[Fraction, int], ...]:
    """Where each tempo begins (whole notes from the start) in microseconds a quarter.

    Raises LogbookError for a tempo slower than MIDI can say.
    """
    places = _breakpoints(track)
    events: list[tuple[Fraction, int]] = []
    told = Fraction(0)  # what the file says the time is, in microseconds
    for start, end in pairwise(places):
        quarters = Fraction(to_ticks(end) - to_ticks(start), TICKS_A_QUARTER)
        if not quarters:
            continue
        exact = _microseconds(track, end)
        tempo = round((exact - told) / quarters)
        if not 1 <= tempo <= _SLOWEST_US:
            raise LogbookError(
                f"a MIDI file cannot hold a tempo of {float(60_000_000 / max(tempo, 1)):.1f} "
                "quarters a minute",
                "choose one above 3.6",
            )
        if not events or events[-1][1] != tempo:
            events.append((start, tempo))
        told += tempo * quarters
    return tuple(events)


def _microseconds(track: ClickTrack, wholes: Fraction) -> Fraction:
    if wholes <= track.lead_wholes:
        speed = track.bars.tempo_at(BarPoint(track.bars.first_bar)).wholes_a_second
        return wholes / speed * 1_000_000
    return track.seconds_at(wholes - track.lead_wholes) * 1_000_000


def _breakpoints(track: ClickTrack) -> list[Fraction]:
    """Where a tempo may begin: changes, steps of ramps, and now and then in a long stretch."""
    lead, end = track.lead_wholes, track.end_wholes
    found = {Fraction(0), end}
    for change in track.bars.tempos:
        start = lead + _wholes(track.bars, change.start)
        found.add(start)
        if change.ramp:
            goal = lead + _wholes(track.bars, change.ramp.end)
            steps = int((min(goal, end) - start) / _RAMP_STEP)
            found |= {start + n * _RAMP_STEP for n in range(steps + 1)}
            found.add(goal)
    places = sorted(each for each in found if 0 <= each <= end)
    for start, until in pairwise(places):
        stretches = int((until - start) / _LONG_STRETCH)
        found |= {start + n * _LONG_STRETCH for n in range(1, stretches + 1)}
    return sorted(each for each in found if 0 <= each <= end)


def _wholes(bars: TempoMap, point: BarPoint) -> Fraction:
    # A first tempo at bar 1 holds from the start, pick-up and count-in included.
    return Fraction(0) if point == BarPoint(1) == bars.tempos[0].start else bars.wholes_at(point)
