from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from logbook.arranging.difference import tempo_text
from logbook.arranging.lengths import tempo_map
from logbook.errors import LogbookError
from logbook.records import ArrangedSection, MeterChange, TempoChange
from logbook.timing.bars import BarPoint
from logbook.timing.map_text import tempo_lines
from tests.arranging.material import VERSION, arranged

SLOWING = replace(
    VERSION,
    tempos=(
        TempoChange(bar=1, bpm=120),
        TempoChange(bar=3, bpm=120, ramp_bpm=90, ramp_end="5"),
        TempoChange(bar=7, bpm=100),
    ),
)


def test_as_recorded() -> None:
    assert tempo_lines(tempo_map(arranged(version=SLOWING))) == [
        "1 q=120", "3-4 q=120>90", "7 q=100",
    ]  # fmt: skip


def test_another_tempo_keeps_the_proportions() -> None:
    found = arranged(version=SLOWING, bpm=60)
    assert tempo_lines(tempo_map(found)) == ["1 q=60", "3-4 q=60>45", "7 q=50"]
    assert found.time.ratio == Fraction(1, 2)


def test_the_tempo_counts_from_where_the_arrangement_begins() -> None:
    found = arranged(version=SLOWING, bpm=50, sections=(ArrangedSection(name="chorus"),))
    # The chorus is recorded at 90, then 100: the arrangement begins at 50.
    lines = tempo_lines(tempo_map(found))
    assert lines[0] == "1 q=50"
    assert float(tempo_map(found).tempo_at(BarPoint(3)).bpm) == pytest.approx(50 * 100 / 90)


def test_new_bars_at_the_beginning_go_at_the_tempo_that_is_said() -> None:
    found = arranged(
        version=SLOWING,
        bpm=50,
        sections=(ArrangedSection(name="solo", bars=2), ArrangedSection(name="chorus")),
    )
    assert tempo_text(found.version) == "1 q=50, 5 q=55.56"
    as_it_was = arranged(
        version=SLOWING,
        sections=(ArrangedSection(name="solo", bars=2), ArrangedSection(name="chorus")),
    )
    assert tempo_lines(tempo_map(as_it_was)) == ["1 q=90", "5 q=100"]


def test_tempos_go_with_their_bars_and_ramps_are_cut() -> None:
    found = arranged(
        version=SLOWING,
        sections=(
            ArrangedSection(name="verse", source="verse", bars=1),
            ArrangedSection(name="intro"),
        ),
    )
    # One bar of a ramp of two: half-way from 120 to 90, then back to 120.
    assert tempo_lines(tempo_map(found)) == ["1 q=120>105", "2 q=120"]
    assert tempo_map(found).tempo_at(BarPoint(1, Fraction(3))).bpm == Fraction(225, 2)


def test_a_form_that_begins_in_the_middle_of_a_ramp() -> None:
    version = replace(VERSION, tempos=(TempoChange(bar=1, bpm=100, ramp_bpm=180, ramp_end="9"),))
    found = arranged(version=version, sections=(ArrangedSection(name="chorus"),))
    bars = tempo_map(found)
    assert bars.tempo_at(BarPoint(1)).bpm == 140
    assert bars.tempo_at(BarPoint(3)).bpm == 160
    assert bars.tempo_at(BarPoint(5)).bpm == 180


def test_a_section_says_its_tempo_and_it_goes_on() -> None:
    found = arranged(
        version=SLOWING,
        sections=(
            ArrangedSection(name="intro"),
            ArrangedSection(name="verse", bpm=80),
            ArrangedSection(name="chorus"),
        ),
    )
    assert tempo_lines(tempo_map(found)) == ["1 q=120", "3 q=80"]


def test_a_section_moves_evenly_to_the_next_tempo() -> None:
    found = arranged(
        sections=(
            ArrangedSection(name="intro", bpm=100),
            ArrangedSection(name="verse", times=2, ramp=True),
            ArrangedSection(name="chorus", bpm=60),
        )
    )
    bars = tempo_map(found)
    assert tempo_lines(bars) == ["1 q=100", "3-6 q=100>60", "7 q=60"]
    assert bars.tempo_at(BarPoint(5)).bpm == 80


def test_a_recorded_ramp_ends_where_a_section_says_its_own() -> None:
    version = replace(VERSION, tempos=(TempoChange(bar=1, bpm=100, ramp_bpm=180, ramp_end="9"),))
    found = arranged(
        version=version,
        sections=(
            ArrangedSection(name="intro"),
            ArrangedSection(name="verse"),
            ArrangedSection(name="chorus", bpm=90),
        ),
    )
    assert tempo_lines(tempo_map(found)) == ["1-4 q=100>140", "5 q=90"]


def test_units_of_the_meter_and_as_said() -> None:
    version = replace(
        VERSION,
        meters=(MeterChange(bar=1, meter="6/8"),),
        tempos=(TempoChange(bar=1, bpm=60),),
        parts=(),
    )
    assert tempo_lines(tempo_map(arranged(version=version, bpm=50))) == ["q.=50"]
    assert tempo_lines(tempo_map(arranged(version=version, bpm=90, unit="1/8"))) == ["e=90"]


def test_a_version_without_tempo_takes_the_arrangements() -> None:
    version = replace(VERSION, tempos=())
    assert tempo_lines(tempo_map(arranged(version=version, bpm=72.5))) == ["q=72.5"]
    with pytest.raises(LogbookError, match="has no tempo"):
        tempo_map(arranged(version=version))


@pytest.mark.parametrize("bpm", [0, -5, float("inf"), float("nan")])
def test_a_tempo_that_never_moves(bpm: float) -> None:
    with pytest.raises(LogbookError, match="the arrangement is given a tempo of"):
        arranged(bpm=bpm)


def test_a_ramp_that_leads_nowhere() -> None:
    with pytest.raises(LogbookError, match="the tempo of chorus moves to no other tempo"):
        arranged(sections=(ArrangedSection(name="chorus", bpm=90, ramp=True),))
