from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.timing.meter import Meter
from logbook.timing.tempo import (
    Tempo,
    note_values,
    parse_tempo,
    parse_unit,
    speed_cents,
    stretch_factor,
    unit_name,
    unit_text,
)

UNITS = st.sampled_from([Fraction(n, d) for n in (1, 2, 3, 5, 7) for d in (1, 2, 4, 8, 16, 32)])
TEMPOS = st.builds(Tempo, st.fractions(1, 400, max_denominator=997), UNITS)


@pytest.mark.parametrize(
    ("text", "bpm", "unit"),
    [
        ("96", Fraction(96), Fraction(1, 4)),
        ("96 BPM", Fraction(96), Fraction(1, 4)),
        ("q=96", Fraction(96), Fraction(1, 4)),
        ("Q. = 60", Fraction(60), Fraction(3, 8)),
        ("1/4=96", Fraction(96), Fraction(1, 4)),
        ("3/8=60", Fraction(60), Fraction(3, 8)),
        ("h=61.5", Fraction(123, 2), Fraction(1, 2)),
        ("q..=80", Fraction(80), Fraction(7, 16)),
        ("e=200/3", Fraction(200, 3), Fraction(1, 8)),
    ],
)
def test_a_tempo_is_read_with_its_unit(text: str, bpm: Fraction, unit: Fraction) -> None:
    assert parse_tempo(text) == Tempo(bpm, unit)


def test_a_bare_number_counts_the_felt_beat() -> None:
    assert parse_tempo("60", Meter(6, 8)) == parse_tempo("q.=60")
    assert parse_tempo("60", Meter(2, 2)) == parse_tempo("h=60")
    assert parse_tempo("q=60", Meter(6, 8)) == parse_tempo("60")


@given(TEMPOS)
def test_a_tempo_is_written_and_read_back(tempo: Tempo) -> None:
    assert parse_tempo(str(tempo)) == tempo


@given(UNITS)
def test_a_unit_is_written_and_read_back(unit: Fraction) -> None:
    assert parse_unit(unit_text(unit)) == unit


@pytest.mark.parametrize(
    "text", ["", "0", "-5", "q=0", "fast", "q=", "=96", "x=96", "0/4=96", "1/0=96", "nan", "inf"]
)
def test_what_is_no_tempo_is_refused_with_the_right_forms(text: str) -> None:
    with pytest.raises(LogbookError, match=r"write|w, h, q"):
        parse_tempo(text)


@given(TEMPOS, UNITS)
def test_another_unit_is_the_same_speed(tempo: Tempo, unit: Fraction) -> None:
    assert tempo.in_unit(unit).wholes_a_second == tempo.wholes_a_second


@given(TEMPOS, TEMPOS)
def test_stretch_factors_undo_each_other(first: Tempo, second: Tempo) -> None:
    assert stretch_factor(first, second) * stretch_factor(second, first) == 1
    assert (stretch_factor(first, second) > 1) == (second.quarter_bpm < first.quarter_bpm)


def test_the_delay_table_has_every_value_straight_dotted_and_triplet() -> None:
    table = {row.name: row.milliseconds for row in note_values(parse_tempo("q=100"))}
    assert len(table) == 18
    assert table["quarter"] == 600
    assert table["dotted eighth"] == 450
    assert table["quarter triplet"] == 400
    assert table["thirty-second"] == 75


def test_units_have_names() -> None:
    assert unit_name(Fraction(3, 8)) == "dotted quarter"
    assert unit_name(Fraction(1, 6)) == "quarter triplet"
    assert unit_name(Fraction(5, 8)) == "5/8"


@pytest.mark.parametrize("ratio", [0, -1, Fraction(0)])
def test_a_speed_of_nothing_has_no_pitch(ratio: Fraction) -> None:
    with pytest.raises(LogbookError, match="above 0"):
        speed_cents(ratio)


def test_a_tempo_without_length_of_beat_is_refused() -> None:
    with pytest.raises(LogbookError, match="no length"):
        Tempo(Fraction(96), Fraction(0))
