from __future__ import annotations

import math
from fractions import Fraction

import pytest

from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint, parse_point, parse_range
from logbook.timing.map_text import (
    meter_lines,
    pickup_text,
    read_pickup,
    read_tempo_map,
    tempo_lines,
)
from logbook.timing.meter import Meter
from logbook.timing.simplest import simplest_between
from logbook.timing.stretches import MeterAt, Ramp, TempoAt
from logbook.timing.tempo import Tempo, parse_tempo
from logbook.timing.tempo_map import TempoMap, constant_tempo

SONG = read_tempo_map(["4/4", "17 6/8"], ["q=120", "17 q.=60"], "1 q")


def test_steady_music_has_exact_seconds() -> None:
    steady = constant_tempo(parse_tempo("96"))
    assert steady.seconds_at(BarPoint(2)) == Fraction(5, 2)
    assert steady.seconds_at(parse_point("1.2+1/3")) == Fraction(5, 8) * Fraction(4, 3)
    assert steady.sample_at(BarPoint(2), 44100) == 110250


def test_a_pick_up_is_bar_0_and_keeps_the_numbers_of_its_beats() -> None:
    assert SONG.first_bar == 0
    assert SONG.seconds_at(parse_point("0")) == 0
    assert SONG.seconds_at(parse_point("0.4")) == 0
    assert SONG.seconds_at(parse_point("0.4+1/2")) == Fraction(1, 4)
    assert SONG.seconds_at(parse_point("1")) == Fraction(1, 2)
    assert SONG.point_at(Fraction(0)) == parse_point("0.4")
    assert str(SONG.range_between(Fraction(0), Fraction(5, 4))) == "0-1"
    assert SONG.bar_length(0) == Fraction(1, 4)
    with pytest.raises(LogbookError, match=r"before the pick-up, which begins at 0\.4"):
        SONG.wholes_at(parse_point("0.3"))


def test_meters_and_tempos_change() -> None:
    assert SONG.meter_at(0) == SONG.meter_at(16) == Meter(4, 4)
    assert SONG.meter_at(17) == Meter(6, 8)
    assert SONG.seconds_of(parse_range("17-18")) == 4
    assert SONG.seconds_at(parse_point("17.4")) - SONG.seconds_at(parse_point("17")) == 1
    assert SONG.tempo_at(BarPoint(3)) == parse_tempo("q=120")
    assert SONG.tempo_at(BarPoint(17)) == parse_tempo("q.=60")
    assert SONG.bars_between(*SONG.span_of(parse_range("0-17.4"))) == Fraction(67, 4)


def test_a_ramp_follows_the_integral_of_one_over_the_tempo() -> None:
    ramp = read_tempo_map("4/4", ["q=120", "5-8 >60"])
    # 16 quarters from 120 to 60: t = n / (v1 - v0) * ln(v1 / v0) minutes, v in quarters a minute.
    expected = 60 * 16 / (60 - 120) * math.log(60 / 120)
    assert float(ramp.seconds_of(parse_range("5-8"))) == pytest.approx(expected, rel=1e-12)
    assert ramp.tempo_at(BarPoint(7)) == Tempo(Fraction(90))
    assert ramp.tempo_at(BarPoint(9)) == Tempo(Fraction(60))
    assert ramp.seconds_of(parse_range("9")) == 4


def test_a_ramp_agrees_with_adding_up_small_steps() -> None:
    ramp = read_tempo_map("4/4", ["1-8 q=80>143"])
    steps = 40_000
    quarters = 32
    summed = sum(
        60 / (80 + (143 - 80) * (step + 0.5) / steps) * quarters / steps for step in range(steps)
    )
    assert float(ramp.seconds_of(parse_range("1-8"))) == pytest.approx(summed, rel=1e-8)


def test_a_ramp_to_the_same_tempo_is_exact() -> None:
    level = read_tempo_map("4/4", ["1-8 q=90>90"])
    assert level.seconds_at(BarPoint(9)) == Fraction(64, 3)


def test_a_first_ramp_leaves_the_pick_up_steady() -> None:
    ramp = read_tempo_map("4/4", ["1-8 q=120>60"], "1 q")
    assert ramp.seconds_at(BarPoint(1)) == Fraction(1, 2)


@pytest.mark.parametrize(
    ("point", "said"),
    [
        ("9.5", "bar 9, which has 4 beats"),
        ("17.7", "bar 17, which has 6 beats"),
    ],
)
def test_a_beat_the_bar_does_not_have_is_refused(point: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        SONG.wholes_at(parse_point(point))


def test_without_a_pick_up_there_is_no_bar_0() -> None:
    with pytest.raises(LogbookError, match="there is no bar 0; the first bar is 1"):
        constant_tempo(Tempo(Fraction(90))).wholes_at(BarPoint(0))


def test_nothing_is_before_the_start() -> None:
    with pytest.raises(LogbookError, match="before the start"):
        SONG.point_at(Fraction(-1, 8))
    with pytest.raises(LogbookError, match="sample -1 is before the start"):
        SONG.point_at_sample(-1, 48000)
    with pytest.raises(LogbookError, match="holds no music"):
        SONG.span_of(parse_range("0-0.4"))


def test_a_sample_is_read_as_the_simplest_place() -> None:
    steady = constant_tempo(parse_tempo("117"))
    for text in ("5", "5.2", "5.2+1/2", "5.2+1/3", "5.3+5/16", "5.4+23/24"):
        point = parse_point(text)
        assert steady.point_at_sample(steady.sample_at(point, 44100), 44100) == point


@pytest.mark.parametrize(
    ("meters", "tempos", "pickup", "said"),
    [
        ("", "96", "", "no meter"),
        ("4/4", "", "", "no tempo"),
        ("2 4/4", "96", "", "no meter at bar 1"),
        (["4/4", "9 3/4", "9 4/4"], "96", "", "bar 9 stands after"),
        ("4/4", ["96", "9 90", "9 80"], "", "tempo at 9 begins before"),
        ("4/4", ["96", "9-12 >80", "12 90"], "", "tempo at 12 begins before"),
        ("4/4", [">80"], "", "starts from no tempo"),
        ("4/4", ["96", "9-12 >0"], "", 'line "9-12 >0" cannot be read'),
        ("4/4", ["96", "x 90"], "", "not a bar"),
        ("4/4", ["96", "9.5 90"], "", "has 4 beats"),
        ("x 4/4", "96", "", "not a meter change"),
        ("4/4", "96", "4", "does not fit before a bar of 4/4"),
        ("4/4", "96", "-1", "not the length of a pick-up"),
        ("4/4", "96", "some", "not the length of a pick-up"),
        ("4/4", "96", "2 z", "not the length of a pick-up"),
    ],
)
def test_a_map_that_does_not_hold_is_refused(
    meters: str | list[str], tempos: str | list[str], pickup: str, said: str
) -> None:
    with pytest.raises(LogbookError, match=said):
        read_tempo_map(meters, tempos, pickup)


def test_a_map_has_a_tempo() -> None:
    with pytest.raises(LogbookError, match="no tempo at its start"):
        TempoMap(meters=(MeterAt(1, Meter(4, 4)),), tempos=())


def test_pick_ups_are_read_in_every_form() -> None:
    six_eight = Meter(6, 8)
    for text in ("3 e", "3", "3/8", "1 q.", "6 s"):
        assert read_pickup(text, six_eight) == Fraction(3, 8)
    assert read_pickup("", six_eight) == read_pickup("0", six_eight) == 0


@pytest.mark.parametrize(
    "line", ["9-12 q=96>84", "9-12 96 -> 84", "9-12 q=96 to q=84", "9-12 to 84", "9-12 96 → 84"]
)
def test_a_glide_is_read_however_its_arrow_is_typed(line: str) -> None:
    assert tempo_lines(read_tempo_map("4/4", ["96", line])) == ["1 q=96", "9-12 q=96>84"]


def test_a_map_is_written_back_tersely() -> None:
    plain = read_tempo_map("6/8", "60")
    assert (meter_lines(plain), tempo_lines(plain), pickup_text(plain)) == (["6/8"], ["q.=60"], "")
    full = read_tempo_map(["4/4", "17 6/8"], ["96", "9-12 >84", "17.4 q.=60"], "1 q")
    assert tempo_lines(full) == ["1 q=96", "9-12 q=96>84", "17.4 q.=60"]
    assert meter_lines(full) == ["1 4/4", "17 6/8"]
    assert pickup_text(full) == "1 q"


def test_a_ramp_that_ends_before_it_begins_is_refused() -> None:
    slow = Tempo(Fraction(80))
    with pytest.raises(LogbookError, match="ends at 3, before it has begun"):
        TempoMap(
            meters=(MeterAt(1, Meter(4, 4)),),
            tempos=(
                TempoAt(BarPoint(1), slow),
                TempoAt(BarPoint(5), slow, Ramp(BarPoint(3), slow)),
            ),
        )


def test_a_whole_number_at_the_end_counts_where_the_end_does() -> None:
    half = Fraction(1, 2)
    assert simplest_between(half, Fraction(1), high_in=True) == 1
    assert simplest_between(half, Fraction(1)) == half
    assert simplest_between(half, Fraction(1), low_in=False) == Fraction(2, 3)
    assert simplest_between(half, Fraction(3, 2), low_in=False) == 1


def test_nothing_lies_in_an_empty_interval() -> None:
    with pytest.raises(ValueError, match="nothing lies between"):
        simplest_between(Fraction(1, 2), Fraction(1, 2))
