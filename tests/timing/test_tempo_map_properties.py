"""Bars, seconds and samples there and back, over any meters, tempos, ramps and pick-ups."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.timing.bars import BarPoint, BarRange, parse_point, parse_range
from logbook.timing.map_text import meter_lines, pickup_text, read_tempo_map, tempo_lines
from logbook.timing.meter import Meter
from logbook.timing.simplest import simplest_between
from logbook.timing.stretches import MeterAt, Ramp, TempoAt
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

LAST_BAR = 40
METERS = st.sampled_from(
    [Meter(4, 4), Meter(3, 4), Meter(2, 4), Meter(6, 8), Meter(12, 8), Meter(7, 8), Meter(2, 2)]
)
RATES = st.sampled_from([22050, 44100, 48000, 88200, 96000, 192000])
PARTS = st.sampled_from([Fraction(n, d) for d in (1, 2, 3, 4, 6, 8, 12, 16, 24) for n in range(d)])


@st.composite
def tempos(draw: st.DrawFn) -> Tempo:
    # Of all kinds of denominators: to draw any fraction takes longer than to try it.
    parts = draw(st.sampled_from([1, 2, 3, 7, 10, 60, 97, 100]))
    bpm = Fraction(draw(st.integers(30 * parts, 300 * parts)), parts)
    return Tempo(bpm, draw(st.sampled_from([Fraction(1, 4), Fraction(3, 8), Fraction(1, 2)])))


@st.composite
def tempo_maps(draw: st.DrawFn) -> TempoMap:
    meter_bars = [1, *sorted(draw(st.sets(st.integers(2, LAST_BAR), max_size=3)))]
    meters = tuple(MeterAt(bar, draw(METERS)) for bar in meter_bars)
    first = meters[0].meter
    pickup = draw(st.integers(0, first.beats * 2 - 1)) * first.beat_length / 2
    edges = [1, *sorted(draw(st.sets(st.integers(2, LAST_BAR), max_size=5))), LAST_BAR + 1]
    changes = []
    for start, end in pairwise(edges):
        goal = draw(st.none() | tempos())
        ramp = Ramp(BarPoint(draw(st.integers(start + 1, end))), goal) if goal else None
        changes.append(TempoAt(BarPoint(start), draw(tempos()), ramp))
    return TempoMap(meters=meters, tempos=tuple(changes), pickup=pickup)


@st.composite
def points(draw: st.DrawFn, tempo_map: TempoMap) -> BarPoint:
    bar = draw(st.integers(tempo_map.first_bar, LAST_BAR + 5))
    beats = tempo_map.bar_length(bar) / tempo_map.meter_at(bar).beat_length
    beat = draw(st.integers(0, int(beats))) + draw(PARTS)
    if beat >= beats:
        beat = Fraction(0)
    return tempo_map.point_at(tempo_map.bar_start(bar) + beat * tempo_map.meter_at(bar).beat_length)


@given(st.data(), tempo_maps(), RATES)
def test_bars_to_samples_to_bars_is_the_identity(
    data: st.DataObject, tempo_map: TempoMap, rate_hz: int
) -> None:
    point = data.draw(points(tempo_map))
    assert tempo_map.point_at_sample(tempo_map.sample_at(point, rate_hz), rate_hz) == point


@given(tempo_maps(), RATES, st.integers(0, 20_000_000))
def test_samples_to_bars_to_samples_is_the_identity(
    tempo_map: TempoMap, rate_hz: int, sample: int
) -> None:
    assert tempo_map.sample_at(tempo_map.point_at_sample(sample, rate_hz), rate_hz) == sample


@given(st.data(), tempo_maps())
def test_musical_time_there_and_back_is_exact(data: st.DataObject, tempo_map: TempoMap) -> None:
    point = data.draw(points(tempo_map))
    wholes = tempo_map.wholes_at(point)
    assert tempo_map.point_at(wholes) == point
    back = tempo_map.wholes_at_seconds(tempo_map.seconds_at_wholes(wholes))
    if all(change.ramp is None for change in tempo_map.tempos):
        assert back == wholes
    else:
        assert abs(back - wholes) < Fraction(1, 10**9)


@given(st.data(), tempo_maps())
def test_time_only_moves_forward(data: st.DataObject, tempo_map: TempoMap) -> None:
    first, second = sorted((data.draw(points(tempo_map)), data.draw(points(tempo_map))))
    assert (tempo_map.seconds_at(first) < tempo_map.seconds_at(second)) == (first < second)


@given(tempo_maps())
def test_a_tempo_map_is_written_and_read_back(tempo_map: TempoMap) -> None:
    text = meter_lines(tempo_map), tempo_lines(tempo_map), pickup_text(tempo_map)
    assert read_tempo_map(*text) == tempo_map


@given(st.data(), tempo_maps())
def test_points_and_ranges_are_written_and_read_back(
    data: st.DataObject, tempo_map: TempoMap
) -> None:
    start, end = sorted((data.draw(points(tempo_map)), data.draw(points(tempo_map))))
    assert parse_point(str(start)) == start
    if start < end:
        assert parse_range(str(BarRange(start, end))) == BarRange(start, end)


@given(st.fractions(0, 50), st.fractions(Fraction(1, 500), 3))
def test_the_simplest_fraction_is_inside_and_none_is_simpler(
    low: Fraction, width: Fraction
) -> None:
    found = simplest_between(low, low + width)
    assert low <= found < low + width
    for denominator in range(1, found.denominator):
        assert -(-low * denominator // 1) >= (low + width) * denominator


@given(st.data(), tempo_maps(), st.fractions(Fraction(1, 4), 4, max_denominator=50))
def test_a_map_played_faster_is_shorter_by_the_same_ratio(
    data: st.DataObject, tempo_map: TempoMap, ratio: Fraction
) -> None:
    point = data.draw(points(tempo_map))
    seconds = float(tempo_map.seconds_at(point))
    faster = tempo_map.scaled(ratio)
    assert float(faster.seconds_at(point) * ratio) == pytest.approx(seconds, rel=1e-9)
    assert faster.wholes_at(point) == tempo_map.wholes_at(point)
