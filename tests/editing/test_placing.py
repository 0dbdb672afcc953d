from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.editing.placing import Placement, place_take
from logbook.errors import LogbookError
from logbook.timing.bars import parse_point
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo_map import TempoMap

TEN_O_CLOCK = 10 * 60 * 60
STEADY = read_tempo_map("4/4", "120")
TURNING = read_tempo_map(["4/4", "9 6/8"], ["q=120", "5-8 >90", "9 q.=60"], "1 q")


def place(
    seconds: Fraction, rate_hz: int = 48000, tempo_map: TempoMap = STEADY, start: int = TEN_O_CLOCK
) -> Placement:
    """Place a file stamped `seconds` after the music's start, in a version at 48 kHz."""
    return place_take(
        time_reference_samples=round((start + seconds) * rate_hz) % (24 * 3600 * rate_hz),
        file_rate_hz=rate_hz,
        music_start_samples=start * 48000,
        version_rate_hz=48000,
        tempo_map=tempo_map,
    )


def test_a_take_on_a_bar_line_is_placed_without_remark() -> None:
    placed = place(Fraction(16))
    assert placed.bar == 9
    assert placed.point == parse_point("9")
    assert placed.is_on_bar
    assert placed.late_samples == 0
    assert placed.remarks == ()


@pytest.mark.parametrize("bar", range(12))
def test_every_bar_is_found_through_meters_ramp_and_pick_up(bar: int) -> None:
    seconds = TURNING.seconds_at(parse_point(str(bar)))
    placed = place(seconds, tempo_map=TURNING)
    assert placed.bar == bar
    assert placed.is_on_bar


def test_a_take_between_bars_says_by_how_much() -> None:
    placed = place(Fraction(165, 10))
    assert placed.bar == 9
    assert placed.late_seconds == Fraction(1, 2)
    assert placed.late_samples == 24000
    assert placed.late_beats == 1
    assert placed.point == parse_point("9.2")
    assert placed.remarks == ("the take starts 0.500 s (1.00 beats) after bar 9",)


def test_a_take_shortly_before_a_bar_belongs_to_it() -> None:
    placed = place(Fraction(158, 10))
    assert placed.bar == 9
    assert placed.late_seconds == Fraction(-1, 5)
    assert placed.late_samples == -9600
    assert placed.late_beats == Fraction(-2, 5)
    assert placed.remarks == ("the take starts 0.200 s (0.40 beats) before bar 9",)


def test_a_take_with_a_count_in_starts_before_the_music() -> None:
    placed = place(Fraction(-2))
    assert placed.bar == 1
    assert placed.point is None
    assert placed.late_beats == -4
    assert placed.remarks == ("the take starts 2.000 s (4.00 beats) before bar 1",)


def test_another_rate_is_said_and_reckoned_with() -> None:
    placed = place(Fraction(16), rate_hz=44100)
    assert placed.bar == 9
    assert placed.rate_mismatch == (44100, 48000)
    assert placed.remarks == ("the file is at 44100 Hz and the version at 48000 Hz",)


def test_a_session_may_run_past_midnight() -> None:
    placed = place(Fraction(40), start=24 * 3600 - 10)
    assert placed.bar == 21
    assert placed.is_on_bar


@given(st.integers(0, 60 * 48000 * 3))
def test_bar_and_lateness_add_up_to_the_stamp(sample: int) -> None:
    placed = place(Fraction(sample, 48000), tempo_map=TURNING)
    bar_start = TURNING.seconds_at(parse_point(str(placed.bar)))
    assert bar_start + placed.late_seconds == Fraction(sample, 48000)
    assert placed.point is not None
    assert TURNING.sample_at(placed.point, 48000) == sample


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"file_rate_hz": 0}, "rate is not above 0"),
        ({"version_rate_hz": -1}, "rate is not above 0"),
        ({"time_reference_samples": -1}, "below 0"),
    ],
)
def test_what_cannot_be_is_refused(changed: dict[str, int], said: str) -> None:
    stamped = {
        "time_reference_samples": 0,
        "file_rate_hz": 48000,
        "music_start_samples": 0,
        "version_rate_hz": 48000,
    } | changed
    with pytest.raises(LogbookError, match=said):
        place_take(tempo_map=STEADY, **stamped)
