"""Runs of bars at one tempo: kept as text, read back, and what is odd among them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from logbook.timing.tempo_runs import (
    TempoRun,
    half_and_double,
    odd_runs,
    read_runs,
    runs_of,
    runs_text,
)


def test_bars_at_one_tempo_are_one_run() -> None:
    bars = [(bar, 110.0 if bar != 7 else 113.3) for bar in range(1, 17)]
    runs = runs_of(bars)
    assert runs_text(runs) == "1-6 110.00, 7 113.30, 8-16 110.00"
    (odd,) = odd_runs(runs)
    assert (odd.first, odd.last, odd.word, odd.around) == (7, 7, "rushed", 110.0)
    # A bar that was left out begins another run.
    assert runs_text(runs_of([(1, 90.0), (3, 90.0)])) == "1 90.00, 3 90.00"


def test_what_the_map_itself_changes_is_not_odd() -> None:
    runs = runs_of([(bar, 104.0 if bar == 5 else 120.0) for bar in range(1, 9)])
    assert [each.word for each in odd_runs(runs)] == ["dragged"]
    assert odd_runs(runs, lambda bar: 104.0 if bar == 5 else 120.0) == ()
    (odd,) = odd_runs(runs, lambda bar: 60.0)
    assert (round(odd.bpm, 6), odd.around) == (104.0, 120.0)


@given(
    st.lists(
        st.builds(
            TempoRun,
            st.integers(0, 9),
            st.integers(10, 99),
            st.integers(2000, 30000).map(lambda n: n / 100),
        ),
        max_size=5,
    )
)
def test_text_and_reading_are_inverse(runs: list[TempoRun]) -> None:
    assert list(read_runs(runs_text(runs))) == runs


def test_what_is_no_run_is_left_out() -> None:
    assert read_runs("") == ()
    assert read_runs("nonsense, 4 120") == (TempoRun(4, 4, 120.0),)


def test_half_and_double_are_named_where_they_can_be_counted() -> None:
    assert half_and_double(120.0) == ((60.0, "half time"),)
    assert half_and_double(90.0) == ((45.0, "half time"), (180.0, "double time"))
    assert half_and_double(70.0) == ((140.0, "double time"),)
