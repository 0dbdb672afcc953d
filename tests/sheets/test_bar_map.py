from __future__ import annotations

import pytest

from logbook.editing.bar_map import BarMapRow, bar_map
from logbook.editing.comp import parse_comp
from logbook.editing.survey import Section, survey_comp
from logbook.editing.takes import TakeId, TakeSpan, parse_punch_in
from logbook.sheets.text_bar_map import bar_map_lines
from logbook.timing.bars import parse_range
from logbook.timing.map_text import read_tempo_map

STEADY = read_tempo_map("4/4", "96")
FORM = (
    Section("verse", parse_range("1-8")),
    Section("a very long chorus", parse_range("9-20")),
)
TAKES = (
    TakeSpan(number=2, bars=parse_range("1-20"), punch_ins=(parse_punch_in("2"),)),
    TakeSpan(number=12, bars=parse_range("1-20")),
)


def rows(comp: str, takes: tuple[TakeSpan, ...] = TAKES) -> tuple[BarMapRow, ...]:
    return bar_map(survey_comp(parse_comp(comp), takes, FORM, STEADY), takes, FORM, STEADY)


COMP = "1-6.3 take 2\n6.3-8 take 12\n9-12 take 2 @ 1-4\n13-17.2 take 12\n18-21 take 12\n21 take 2"


def test_every_bar_says_what_it_is() -> None:
    cells = {cell.bar: cell for row in rows(COMP) for cell in row.cells}
    assert sorted(cells) == list(range(1, 22))
    assert cells[1].takes == (TakeId(2),)
    assert cells[1].is_repeated
    assert not cells[1].is_moved
    assert cells[6].takes == (TakeId(2), TakeId(12))
    assert cells[9].is_moved
    assert cells[9].is_repeated
    assert [bar for bar, cell in cells.items() if cell.is_punched] == [2, 10]
    assert [bar for bar, cell in cells.items() if cell.is_partly_empty] == [17]
    assert [bar for bar, cell in cells.items() if cell.is_overlap] == [21]
    assert not any(cell.is_gap for cell in cells.values())


def test_the_map_is_drawn_without_colour() -> None:
    assert bar_map_lines(rows(COMP)) == [
        "verse           1 | 2+   2+^  2+   2+   | 2    2/12 12   12",
        "a very long~    9 | 2+<  2+<^ 2+<  2+<  | 12   12   12   12",
        "               17 | 12/- 12   12   12",
        "(outside)      21 | 12&2",
        "  + the same bars of the take are also heard elsewhere",
        "  < comes from other bars of the take",
        "  ^ punched in",
        "  - nothing",
        "  2/5 cut inside the bar",
        "  2&5 claimed by both",
    ]


def test_bars_outside_the_form_keep_their_numbers() -> None:
    lines = bar_map_lines(rows("1-20 take 2\n23 take 2\n26-27 take 2 @ 1-2"))
    assert [line for line in lines if " | " in line][3:] == [
        "(outside)      23 | 2",
        "               26 | 2+<  2+<^",
    ]


def test_an_empty_comp_is_all_gaps() -> None:
    assert bar_map_lines(rows("")) == [
        "verse           1 | -- -- -- -- | -- -- -- --",
        "a very long~    9 | -- -- -- -- | -- -- -- --",
        "               17 | -- -- -- --",
        "  - nothing",
    ]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_lines_fit_the_width(width: int) -> None:
    lines = bar_map_lines(rows(COMP), width)
    drawn = [line for line in lines if " | " in line]
    assert all(len(line) <= width for line in drawn)
    assert sum(line.count("12 ") + line.endswith("12") for line in drawn) > 0


def test_takes_of_two_sessions_have_letters() -> None:
    takes = (TakeSpan(number=2, session="Friday"), TakeSpan(number=2, session="Saturday"))
    lines = bar_map_lines(rows("1-8 take 2/Friday\n9-20 take 2/Saturday", takes))
    assert lines == [
        "verse           1 | 2a 2a 2a 2a | 2a 2a 2a 2a",
        "a very long~    9 | 2b 2b 2b 2b | 2b 2b 2b 2b",
        "               17 | 2b 2b 2b 2b",
        "  2a take 2 of Friday",
        "  2b take 2 of Saturday",
    ]


def test_a_pick_up_bar_is_bar_0() -> None:
    song = read_tempo_map("4/4", "96", "1 q")
    form = (Section("intro", parse_range("0-2")),)
    survey = survey_comp(parse_comp("0-2 take 2"), TAKES, form, song)
    assert [cell.bar for cell in bar_map(survey, TAKES, form, song)[0].cells] == [0, 1, 2]


def test_a_pickup_that_is_heard_stands_first_and_is_part_of_the_music() -> None:
    lilting = read_tempo_map("7/8", "e=200", "3")
    takes = (TakeSpan(number=3, bars=parse_range("0-8")),)
    form = (Section("air", parse_range("1-8")),)
    survey = survey_comp(parse_comp("0-8 take 3"), takes, form, lilting)
    assert survey.outside_form == ()
    assert bar_map_lines(bar_map(survey, takes, form, lilting)) == [
        "pick-up         0 | 3",
        "air             1 | 3 3 3 3 | 3 3 3 3",
    ]


def test_a_pickup_may_be_left_out_and_bars_after_the_form_may_not() -> None:
    lilting = read_tempo_map("7/8", "e=200", "3")
    form = (Section("air", parse_range("1-8")),)
    survey = survey_comp(parse_comp("1-9 take 3"), (TakeSpan(number=3),), form, lilting)
    assert [str(each) for each in survey.outside_form] == ["9"]
    assert [row.section for row in bar_map(survey, (), form, lilting)] == ["air", ""]
