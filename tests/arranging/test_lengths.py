from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from logbook.arranging.lengths import (
    backing_of,
    count_in_seconds,
    delay_times,
    last_bar,
    length_text,
    lengths_of,
    paces_of,
)
from logbook.records import ArrangedSection, MeterChange, TempoChange
from tests.arranging.material import VERSION, arranged


def test_sections_and_song_against_the_record() -> None:
    # A bar of 4/4 lasts 2 s at 120 and 2.4 s at 100.
    found = lengths_of(
        arranged(
            bpm=100,
            sections=(
                ArrangedSection(name="intro"),
                ArrangedSection(name="chorus", times=2),
                ArrangedSection(name="tag", bars=1),
            ),
        )
    )
    assert [(s.name, float(s.seconds), s.recorded) for s in found.sections] == [
        ("intro", 4.8, 4), ("chorus", 19.2, 8), ("tag", 2.4, None),
    ]  # fmt: skip
    assert (float(found.total), found.recorded) == (26.4, 16)
    assert found.vamps == ()


def test_a_vamp_counts_once_and_is_named() -> None:
    found = lengths_of(arranged(sections=(ArrangedSection(name="verse", vamp=True),)))
    assert (found.total, found.vamps) == (4, ("verse",))


def test_a_ramp_lasts_as_long_as_its_formula_says() -> None:
    # From 120 to 60 over 4 bars of 4/4: from memory, by integration, L ln(v1/v0) / (v1 - v0)
    # with v in whole notes a second: 4 ln 2 / (1/2 - 1/4).
    found = lengths_of(
        arranged(
            sections=(
                ArrangedSection(name="chorus", ramp=True),
                ArrangedSection(name="verse", bpm=60),
            )
        )
    )
    assert float(found.sections[0].seconds) == pytest.approx(16 * 0.6931471805599453, abs=1e-9)


def test_the_count_in_is_no_part_of_the_song() -> None:
    found = arranged(count_in_bars=2, bpm=60)
    assert count_in_seconds(found) == 8
    assert lengths_of(found).total == 32
    assert count_in_seconds(arranged(count_in_bars=0)) == 0


def test_a_pick_up_fills_the_end_of_the_count_in() -> None:
    version = replace(VERSION, pickup_beats="1")
    assert count_in_seconds(arranged(version=version)) == Fraction(3, 2)


def test_a_backing_track() -> None:
    found = backing_of(arranged(bpm=90, key="C"))
    assert found is not None
    assert found.factor == Fraction(4, 3)
    assert found.cents == pytest.approx(-498.045, abs=1e-3)
    assert found.for_key_cents == -200
    assert backing_of(arranged(version=replace(VERSION, tempos=()))) is None


def test_delay_times_at_bar_one() -> None:
    values = {each.name: each.milliseconds for each in delay_times(arranged(bpm=100))}
    assert values["quarter"] == 600
    assert values["dotted eighth"] == 450
    assert values["quarter triplet"] == 400


def test_strokes_a_second_now_and_then() -> None:
    strum, bars = [pace for pace in paces_of(arranged(bpm=60)) if pace.part == "guitar"]
    # D.DU .UDU is six strokes a bar: 3 a second at 120, 1.5 at 60; eighths at the quickest.
    assert (strum.pattern, strum.now, strum.then) == ("strum", 1.5, 3.0)
    assert (strum.fastest, strum.then_fastest) == (2.0, 4.0)
    assert (bars.pattern, bars.bar) == ("bars", 7)


def test_paces_at_the_tempo_of_their_place() -> None:
    version = replace(VERSION, tempos=(TempoChange(bar=1, bpm=120), TempoChange(bar=7, bpm=60)))
    _, bars = [pace for pace in paces_of(arranged(version=version)) if pace.part == "guitar"]
    # D d x D: three strums and a hit, four strokes a bar of four seconds.
    assert bars.then == bars.now == 1.0


def test_without_a_form_the_charts_say_how_long_it_is() -> None:
    found = arranged(version=replace(VERSION, form=()))
    assert last_bar(found) == 7
    assert lengths_of(found).total == 14


def test_a_change_of_meter_counts() -> None:
    version = replace(
        VERSION, meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="3/4"))
    )
    assert lengths_of(arranged(version=version)).total == 8 + 6


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(12.94, "12.9 s"), (59.94, "59.9 s"), (59.96, "1:00"), (185, "3:05"), (3599.6, "60:00")],
)
def test_lengths_as_people_say_them(seconds: float, text: str) -> None:
    assert length_text(seconds) == text
