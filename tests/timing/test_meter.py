from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.errors import LogbookError
from logbook.timing.meter import Meter, parse_meter


@pytest.mark.parametrize(
    ("text", "bar", "is_compound", "felt", "felt_beats"),
    [
        ("4/4", Fraction(1), False, Fraction(1, 4), 4),
        (" 3 / 4 ", Fraction(3, 4), False, Fraction(1, 4), 3),
        ("6/8", Fraction(3, 4), True, Fraction(3, 8), 2),
        ("12/8", Fraction(3, 2), True, Fraction(3, 8), 4),
        ("9/16", Fraction(9, 16), True, Fraction(3, 16), 3),
        ("3/8", Fraction(3, 8), False, Fraction(1, 8), 3),
        ("6/4", Fraction(3, 2), False, Fraction(1, 4), 6),
        ("7/8", Fraction(7, 8), False, Fraction(1, 8), 7),
        ("2/2", Fraction(1), False, Fraction(1, 2), 2),
    ],
)
def test_a_meter_knows_its_bar_and_its_felt_beat(
    text: str, bar: Fraction, is_compound: bool, felt: Fraction, felt_beats: int
) -> None:
    meter = parse_meter(text)
    assert meter.bar_length == bar
    assert meter.is_compound is is_compound
    assert meter.felt_beat_length == felt
    assert meter.felt_beats == felt_beats
    assert parse_meter(str(meter)) == meter


@pytest.mark.parametrize("text", ["", "4", "4/", "/4", "4/4/4", "four/4", "-4/4", "0/4", "65/4"])
def test_what_is_no_meter_is_refused(text: str) -> None:
    with pytest.raises(LogbookError):
        parse_meter(text)


def test_the_lower_number_is_a_note_value() -> None:
    with pytest.raises(LogbookError, match="1, 2, 4, 8, 16, 32 or 64"):
        Meter(4, 5)
