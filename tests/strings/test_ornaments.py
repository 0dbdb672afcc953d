from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.strings.ornaments import KINDS, Ornament, read_ornaments, write_ornaments


def test_kinds_strings_and_frets_are_read() -> None:
    assert read_ornaments("hammer-on 4 0-2, slide 2 3-5; bend 1 7") == (
        Ornament("hammer-on", 4, 0, 2),
        Ornament("slide", 2, 3, 5),
        Ornament("bend", 1, 7, 7),
    )
    assert read_ornaments("  ") == ()


@pytest.mark.parametrize("short", ["h 4 0-2", "ham 4 0-2", "hammer on 4 0-2", "HAMMER-ON 4 0-2"])
def test_a_kind_may_be_cut_short(short: str) -> None:
    assert read_ornaments(short) == (Ornament("hammer-on", 4, 0, 2),)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("twiddle 4 0-2", "not an ornament"),
        ("hammer-on 4", "kind, string and frets"),
        ("hammer-on 4 2-0", "goes down"),
        ("pull-off 4 0-2", "goes up"),
        ("slide 2 3-3", "goes nowhere"),
        ("slide 2 3", "goes nowhere"),
        ("slide 7 3-5", "on string 7"),
        ("slide two 3-5", "can be read"),
        ("slide 2 3-", "can be read"),
    ],
)
def test_what_cannot_be_is_said(text: str, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        read_ornaments(text, strings=6)


frets = st.integers(0, 24)
ornaments = st.builds(
    lambda kind, string, ends: Ornament(
        kind,
        string,
        *(
            (ends[0], ends[0])
            if kind in ("bend", "vibrato")
            else sorted(ends, reverse=kind == "pull-off")
        ),
    ),
    st.sampled_from(KINDS),
    st.integers(1, 12),
    st.tuples(frets, frets).filter(lambda ends: ends[0] != ends[1]),
)


@given(st.lists(ornaments).map(tuple))
def test_writing_and_reading_is_the_identity(given_ornaments: tuple[Ornament, ...]) -> None:
    assert read_ornaments(write_ornaments(given_ornaments)) == given_ornaments


def test_a_digit_too_many_is_no_ornament() -> None:
    with pytest.raises(LogbookError, match="there is no fret 999999999"):
        read_ornaments("hammer-on 4 0-999999999")
