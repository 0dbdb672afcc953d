"""Working hours: how they are written, across midnight, zones and changes of the clocks."""

from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.timing.working_hours import (
    length_text,
    overlapping,
    read_breaks,
    read_end,
    read_moment,
    read_shift,
    read_start,
    split_shift,
)


@pytest.mark.parametrize(
    ("start", "end", "breaks", "minutes"),
    [
        ("2026-05-02 10:00", "18:30", "", 510),
        ("2026-05-02 10:00", "18:30", "13:00-13:45, 15 min", 450),
        ("2026-05-02 22:00", "02:30", "", 270),
        ("2026-05-02 22:00", "24:00", "", 120),
        ("2026-05-02 22:00", "02:30", "23:50-00:20", 240),
        # The night the clocks go back: the same clock times, an hour more.
        ("2026-10-24 22:00 +02:00", "03:00 +01:00", "", 360),
        # Begun in one country, ended in the next one; the zone of one end alone is that of both.
        ("2026-05-02 08:00 +01:00", "18:00 +02:00", "", 540),
        ("2026-05-02 08:00", "18:00 +02:00", "", 600),
        ("2026-05-02 22:00 -05:00", "2026-05-03 12:00 +02:00", "", 420),
        ("2026-05-02 10:00", "2026-05-04 10:00", "16 h", 1920),
    ],
)
def test_what_hours_come_to(start: str, end: str, breaks: str, minutes: int) -> None:
    assert read_shift(start, end, breaks).minutes == minutes


def test_hours_without_an_end_come_to_nothing_yet() -> None:
    assert read_shift("2026-05-02 10:00", "", "15 min").minutes is None


@pytest.mark.parametrize(
    ("start", "end", "breaks", "said"),
    [
        ("2026-05-02 10:00", "2026-05-01 18:00", "", "ends before it begins"),
        ("2026-05-02 10:00", "12:00", "3 h", "breaks are longer"),
        ("2026-05-02 10:00", "12:00", "13:00-13:30", "not within the work"),
    ],
)
def test_hours_that_cannot_be(start: str, end: str, breaks: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        read_shift(start, end, breaks)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("10", "10:00"),
        ("10.30", "10:30"),
        ("9h05", "09:05"),
        ("6:30 pm", "18:30"),
        ("12am", "00:00"),
        ("2026-05-02T10:00:00+02:00", "2026-05-02 10:00 +02:00"),
        ("22:15 -5", "22:15 -05:00"),
        ("10:00 Z", "10:00 +00:00"),
    ],
)
def test_clock_times_as_people_type_them(typed: str, kept: str) -> None:
    assert str(read_moment(typed)) == kept == str(read_moment(kept))


@pytest.mark.parametrize(
    "typed", ["", "25:00", "10:75", "13 pm", "noon", "2026-02-30 10:00", "10+99"]
)
def test_what_is_no_clock_time(typed: str) -> None:
    with pytest.raises(LogbookError, match="not a time of day"):
        read_end(typed)


def test_a_start_takes_the_day_of_its_session_and_asks_for_one_otherwise() -> None:
    assert read_start("10:00", "2026-05-02") == "2026-05-02 10:00"
    assert read_start("2026-05-03 24:00", "2026-05-02") == "2026-05-04 00:00"
    with pytest.raises(LogbookError, match="on which day"):
        read_start("10:00", "2026")


@pytest.mark.parametrize(
    ("typed", "ends"),
    [
        ("10-18", ("10", "18")),
        ("10:00 \u2013 18:30", ("10:00", "18:30")),
        ("2026-05-02 22:00-2026-05-03 02:30", ("2026-05-02 22:00", "2026-05-03 02:30")),
        ("10:00 +02:00-18:30 +01:00", ("10:00 +02:00", "18:30 +01:00")),
        ("10:00 -05:00-18:30", ("10:00 -05:00", "18:30")),
        ("10:00-18:30 -05:00", ("10:00", "18:30 -05:00")),
        ("10:00-", ("10:00", "")),
        ("6 pm - 2 am", ("6 pm", "2 am")),
    ],
)
def test_from_when_to_when(typed: str, ends: tuple[str, str]) -> None:
    assert split_shift(typed) == ends


def test_breaks_are_lengths_or_clock_times() -> None:
    kept = read_breaks("45m, 1h30, 13.00 - 13.45")
    assert kept == "45 min, 1 h 30 min, 13:00-13:45" == read_breaks(kept)
    with pytest.raises(LogbookError, match="not a break"):
        read_breaks("lunch")


def test_only_hours_at_the_same_time_overlap() -> None:
    day = [
        read_shift("2026-05-02 10:00", "13:00"),
        read_shift("2026-05-02 13:00", "18:00"),
        read_shift("2026-05-02 17:30", "19:00"),
        read_shift("2026-05-02 18:30 +02:00"),
    ]
    assert overlapping(day) == [(1, 2), (2, 3)]
    # The same clock time in two zones is not the same time.
    east, west = (
        read_shift("2026-05-02 10:00 +02:00", "11:00"),
        read_shift("2026-05-02 10:00 -05:00", "11:00"),
    )
    assert overlapping([east, west]) == []


def test_lengths_as_people_say_them() -> None:
    assert [length_text(each) for each in (0, 45, 60, 465)] == [
        "0 min",
        "45 min",
        "1 h",
        "7 h 45 min",
    ]
