from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.errors import LogbookError
from logbook.timing.bars import (
    BarPoint,
    BarRange,
    bars,
    parse_point,
    parse_range,
    parse_ranges,
    ranges_text,
)


@pytest.mark.parametrize(
    ("text", "bar", "beat"),
    [
        ("9", 9, Fraction(1)),
        (" 9.3 ", 9, Fraction(3)),
        ("9.3+1/2", 9, Fraction(7, 2)),
        ("0.4", 0, Fraction(4)),
        ("12.1+2/3", 12, Fraction(5, 3)),
    ],
)
def test_a_point_is_a_bar_and_a_beat(text: str, bar: int, beat: Fraction) -> None:
    assert parse_point(text) == BarPoint(bar, beat)


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("9-16", "9", "17"),
        ("9", "9", "10"),
        ("12.1-14.3", "12", "14.3"),
        ("9.3-12", "9.3", "13"),
        ("0-8", "0", "9"),
        ("9 - 16", "9", "17"),
        ("9\u201316", "9", "17"),
        ("9.3-9.4", "9.3", "9.4"),
    ],
)
def test_whole_bars_are_included_and_beats_are_where_it_stops(
    text: str, start: str, end: str
) -> None:
    assert parse_range(text) == BarRange(parse_point(start), parse_point(end))


def test_bars_9_to_16_are_eight_bars() -> None:
    assert list(parse_range("9-16").bars) == list(range(9, 17))
    assert list(parse_range("12.3-14.2").bars) == [12, 13, 14]
    assert bars(9, 16) == parse_range("9-16")
    assert bars(9) == parse_range("9")


@pytest.mark.parametrize("text", ["9-16", "9", "12.2-14.3", "9.3+1/2-12", "9.3-10.1", "0-8"])
def test_a_range_is_written_as_it_was_read(text: str) -> None:
    assert str(parse_range(text)) == text


def test_several_ranges_have_commas_between() -> None:
    text = "1-8, 17, 20.2-24.3"
    assert ranges_text(parse_ranges(text)) == text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "missing"),
        ("x", "not a bar"),
        ("9.", "not a bar"),
        ("9.0", "beat 0"),
        ("9.2+3/2", "between 0 and 1"),
        ("9.2+1/0", "between 0 and 1"),
        ("9.2+", "between 0 and 1"),
        ("9-", "missing"),
        ("16-9", "ends before"),
        ("9.3-9.3", "ends before"),
        ("9.3", "one point"),
        ("1-2-3", "not a bar"),
        ("-3", "missing"),
        ("²", "not a bar"),
    ],
)
def test_what_is_no_range_is_refused_with_the_reason(text: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        parse_range(text)


def test_backward_bars_are_refused() -> None:
    with pytest.raises(LogbookError, match='"9-3" ends before'):
        bars(9, 3)
