from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.crediting.errors import CreditError
from logbook.crediting.shares import check_shares, percentage_text, percentages, read_share

HALF, THIRD = Fraction(1, 2), Fraction(1, 3)


@pytest.mark.parametrize(
    ("written", "share"),
    [
        ("1/2", HALF),
        (" 1 / 3 ", THIRD),
        ("1⁄3", THIRD),
        ("½", HALF),
        ("50%", HALF),
        ("50 %", HALF),
        ("50 per cent", HALF),
        ("50 percent", HALF),
        ("0.333", Fraction(333, 1000)),
        (".5", HALF),
        ("33.33 %", Fraction(3333, 10000)),
        ("33,33%", Fraction(3333, 10000)),
        ("0", Fraction(0)),
        ("1", Fraction(1)),
        ("100%", Fraction(1)),
        (0.1, Fraction(1, 10)),
        (1, Fraction(1)),
        (Fraction(2, 7), Fraction(2, 7)),
    ],
)
def test_a_share_is_exact(written: str | float | Fraction, share: Fraction) -> None:
    assert read_share(written) == share


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("50", "write 50 % if a percentage was meant"),
        ("3/2", "more than the whole"),
        ("101%", "more than the whole"),
        ("-1/2", "'-1/2' is not a share"),
        ("1/0", "'1/0' is not a share"),
        ("half", "'half' is not a share"),
        ("", "The share is empty"),
        ("1e9999999", "is not a share"),
        ("1/3/2", "is not a share"),
        (True, "'True' is not a share"),
        (float("nan"), "'nan' is not a share"),
    ],
)
def test_what_is_no_share_says_what_would_be(written: str | float, says: str) -> None:
    with pytest.raises(CreditError, match=says.replace("(", r"\(")) as caught:
        read_share(written)
    assert caught.value.remedy


@given(st.fractions(0, 1, max_denominator=10**8))
def test_a_written_fraction_reads_back_exactly(share: Fraction) -> None:
    assert read_share(str(share)) == share


@pytest.mark.parametrize(
    ("shares", "printed"),
    [
        ([HALF, HALF], ["50.00", "50.00"]),
        ([THIRD] * 3, ["33.34", "33.33", "33.33"]),
        ([Fraction(1, 6)] * 6, ["16.67"] * 4 + ["16.66"] * 2),
        # By hand: 14.2857, 28.5714, 57.1428 %; the last two hundredths go to .57 and .43.
        ([Fraction(1, 7), Fraction(2, 7), Fraction(4, 7)], ["14.29", "28.57", "57.14"]),
        ([Fraction(1, 8), Fraction(7, 8)], ["12.50", "87.50"]),
        ([THIRD], ["33.33"]),  # what is missing stays missing
        ([Fraction(0), Fraction(1)], ["0.00", "100.00"]),
        ([], []),
    ],
)
def test_percentages_add_up(shares: list[Fraction], printed: list[str]) -> None:
    assert [percentage_text(each) for each in percentages(shares)] == printed


@given(st.lists(st.integers(1, 1000), min_size=1, max_size=12))
def test_percentages_of_a_whole_make_a_hundred_and_none_is_a_hundredth_off(
    parts: list[int],
) -> None:
    shares = [Fraction(each, sum(parts)) for each in parts]
    found = percentages(shares)
    assert sum(found) == 100
    for share, percent in zip(shares, found, strict=True):
        assert abs(share * 100 - percent) < Fraction(1, 100)


def test_three_thirds_are_a_whole_and_three_times_a_rounded_third_is_not() -> None:
    assert check_shares([THIRD] * 3, []).problems == ()
    assert check_shares([read_share("33.33 %")] * 3, []).problems == (
        "the writers' shares total 9999/10000; 1/10000 is missing "
        "(rounded? thirds are written 1/3)",
    )


@pytest.mark.parametrize(
    ("writers", "publishers", "problems"),
    [
        ([], [], ()),
        ([HALF, HALF], [], ()),
        ([HALF, Fraction(5, 12)], [], ("the writers' shares total 11/12; 1/12 is missing",)),
        ([HALF, HALF, Fraction(1, 4)], [], ("the writers' shares total 5/4; 1/4 is too much",)),
        # a whole for each side
        ([HALF, HALF], [HALF, HALF], ()),
        ([HALF, HALF], [HALF], ("the publishers' shares total 1/2; 1/2 is missing",)),
        ([HALF], [Fraction(1)], ("the writers' shares total 1/2; 1/2 is missing",)),
        # one whole for both sides
        ([HALF], [HALF], ()),
        ([Fraction(1, 4), Fraction(1, 4)], [Fraction(1, 4), Fraction(1, 4)], ()),
        (
            [HALF],
            [THIRD],
            ("the writers' and publishers' shares together total 5/6; 1/6 is missing",),
        ),
    ],
)
def test_shares_say_by_how_much_they_do_not_make_a_whole(
    writers: list[Fraction], publishers: list[Fraction], problems: tuple[str, ...]
) -> None:
    report = check_shares(writers, publishers)
    assert report.problems == problems
    assert report.convention


@given(st.lists(st.fractions(0, 1, max_denominator=1000), min_size=1, max_size=8))
def test_the_gap_named_closes_the_whole(shares: list[Fraction]) -> None:
    report = check_shares(shares, [])
    total = sum(shares, Fraction(0))
    if total == 1:
        assert not report.problems
    elif total < 1:
        assert check_shares([*shares, 1 - total], []).problems == ()
        assert f"{1 - total} is missing" in report.problems[0]
    else:
        assert f"{total - 1} is too much" in report.problems[0]
