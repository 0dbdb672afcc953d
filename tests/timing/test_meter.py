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


@pytest.mark.parametrize(
    ("text", "beats", "felt", "length", "accents", "counts"),
    [
        ("3+2+2/8", 7, 7, Fraction(1, 8), (0, Fraction(3, 8), Fraction(5, 8)), "1231212"),
        ("2+3/4", 5, 5, Fraction(1, 4), (0, Fraction(1, 2)), "12123"),
        ("3+3+2/8", 8, 8, Fraction(1, 8), (0, Fraction(3, 8), Fraction(3, 4)), "12312312"),
        ("2+2+2/8", 6, 3, Fraction(1, 4), (0,), "121212"),
        ("3+3/8", 6, 2, Fraction(3, 8), (0,), "123123"),
        ("7/8", 7, 7, Fraction(1, 8), (0,), "1234567"),
    ],
)
def test_a_meter_may_say_its_groups(
    text: str, beats: int, felt: int, length: Fraction, accents: tuple[Fraction, ...], counts: str
) -> None:
    meter = parse_meter(text)
    assert str(meter) == text
    assert (meter.beats, meter.felt_beats, meter.felt_beat_length) == (beats, felt, length)
    assert meter.bar_length == Fraction(beats, int(text.partition("/")[2]))
    assert meter.accents == accents
    assert "".join(str(meter.count_of(n)) for n in range(1, beats + 1)) == counts


@pytest.mark.parametrize("text", ["3+2+/8", "3++2/8", "+3/8", "3+0/8", "a+2/8"])
def test_groups_that_are_none(text: str) -> None:
    with pytest.raises(LogbookError):
        parse_meter(text)
