from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.strings.capo import (
    Capo,
    CapoError,
    check_capos,
    read_capos,
    string_stops,
    whole_capo,
    write_capos,
)
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")
BANJO = find_tuning("banjo")


@pytest.mark.parametrize(
    ("text", "capos"),
    [
        ("0", ()),
        ("", ()),
        ("none", ()),
        ("2", (Capo(2),)),
        (2, (Capo(2),)),
        ("capo 3", (Capo(3),)),
        ("2 on strings 1-5", (Capo(2, (1, 2, 3, 4, 5)),)),
        ("2 @ 3-5", (Capo(2, (3, 4, 5)),)),
        ("2@5-3", (Capo(2, (3, 4, 5)),)),
        ("partial 2 on 3, 4, 5", (Capo(2, (3, 4, 5)),)),
        ("4 on strings 3-5 + 2", (Capo(2), Capo(4, (3, 4, 5)))),
        ("2 and 7 on string 5", (Capo(2), Capo(7, (5,)))),
    ],
)
def test_read(text: str | int, capos: tuple[Capo, ...]) -> None:
    assert read_capos(text) == capos


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("second", "not a capo that can be read"),
        ("2 on strings three", "names no strings"),
        ("2 on strings", "does not say which strings"),
        ("2 on strings 0-3", "string 1 is the highest"),
        ("0 + 2", "fret 0"),
    ],
)
def test_what_cannot_be_read_is_named(text: str, says: str) -> None:
    with pytest.raises(CapoError, match=says):
        read_capos(text)


@given(
    st.lists(
        st.builds(
            Capo,
            st.integers(1, 12),
            st.none() | st.sets(st.integers(1, 6), min_size=1).map(lambda s: tuple(sorted(s))),
        ),
        max_size=3,
    )
)
def test_written_capos_read_back(capos: list[Capo]) -> None:
    assert sorted(read_capos(write_capos(tuple(capos))), key=repr) == sorted(capos, key=repr)


def test_the_highest_capo_over_a_string_stops_it() -> None:
    assert string_stops(STANDARD, read_capos("2 + 4 @ 3-5")) == (2, 4, 4, 4, 2, 2)
    assert string_stops(STANDARD, read_capos("2 @ 3-5")) == (0, 2, 2, 2, 0, 0)


def test_a_capo_behind_the_start_of_a_short_string_leaves_it_alone() -> None:
    assert string_stops(BANJO, read_capos("2")) == (5, 2, 2, 2, 2)
    assert string_stops(BANJO, read_capos("2 + 7 @ 5")) == (7, 2, 2, 2, 2)
    assert whole_capo(BANJO, read_capos("2")) == 2


def test_partial_capos_are_no_whole_capo() -> None:
    assert whole_capo(STANDARD, read_capos("2 @ 3-5")) is None
    assert whole_capo(STANDARD, read_capos("3")) == 3
    assert whole_capo(STANDARD, ()) == 0


def test_a_capo_past_the_body_or_beyond_the_strings() -> None:
    with pytest.raises(CapoError, match="past the body; this neck is clear up to fret 14"):
        check_capos(read_capos("15"), STANDARD)
    with pytest.raises(CapoError, match="clear up to fret 10"):
        check_capos(read_capos("11"), STANDARD, clear_frets=10)
    with pytest.raises(CapoError, match="covers string 7, and there are 6"):
        check_capos(read_capos("2 @ 5-7"), STANDARD)
