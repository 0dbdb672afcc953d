from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from logbook.editing.comp import parse_comp
from logbook.editing.side_by_side import (
    side_by_side,
    side_by_side_rows,
    take_facts,
)
from logbook.editing.survey import survey_comp
from logbook.editing.take_list import length_text, take_list_rows
from logbook.editing.takes import TakeResult, TakeSpan, parse_punch_in
from logbook.timing.bars import parse_range, ranges_text
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo import parse_tempo

STEADY = read_tempo_map("4/4", "96")
FIRST = TakeSpan(
    number=2,
    clock="14:32:05",
    bars=parse_range("1-16"),
    result=TakeResult.KEEPER,
    punch_ins=(parse_punch_in("12 pass 2 flat"),),
    file_seconds=Fraction(40),
)
SECOND = TakeSpan(number=5, bars=parse_range("1-16"), file_seconds=Fraction(41), note="lazier")
TAKES = (FIRST, SECOND, TakeSpan(number=6, result=TakeResult.FALSE_START))
SURVEY = survey_comp(parse_comp("1-12 take 2\n13-16 take 5"), TAKES, [], STEADY)


def test_facts_hold_length_tempo_punch_ins_and_use() -> None:
    first, second = side_by_side(FIRST, SECOND, STEADY, SURVEY)
    assert first.implied_tempo == parse_tempo("96")
    assert first.expected_seconds == 40
    assert first.share is not None
    assert first.share.share == Fraction(3, 4)
    assert ranges_text(first.used_at) == "1-12"
    assert second.implied_tempo == parse_tempo("3840/41")
    assert second.punch_ins == ()
    assert ranges_text(second.used_at) == "13-16"
    unused = take_facts(TAKES[2], STEADY, SURVEY)
    assert not unused.used_at
    assert unused.share is None
    assert unused.expected_seconds is None


def aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Rows in columns, for the eye."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def test_two_takes_stand_side_by_side() -> None:
    rows = side_by_side_rows(*side_by_side(FIRST, SECOND, STEADY, SURVEY), TAKES)
    assert aligned(rows) == [
        "                   take 2                take 5",
        "result             keeper                not known",
        "bars               1-16                  1-16",
        "length             40.000 s              41.000 s              +1.000 s",
        "length by the map  40.000 s              40.000 s              +0.000 s",
        "implied tempo      q=96.00               q=93.66               -2.34",
        "punch-ins          12 pass 2 flat        none",
        "used at            1-12 (12 bars, 75 %)  13-16 (4 bars, 25 %)",
        "note               -                     lazier",
    ]


def test_what_is_not_known_is_said() -> None:
    rows = side_by_side_rows(*side_by_side(FIRST, TAKES[2], STEADY))
    by_name = {row[0]: row[2:] for row in rows}
    assert by_name["length"] == ("not known", "")
    assert by_name["implied tempo"] == ("not known", "")
    assert by_name["used at"] == ("not used", "")


def test_the_take_list_marks_the_keeper() -> None:
    assert aligned(take_list_rows(TAKES, STEADY, SURVEY)) == [
        "   take  result       bars  began     length  punched  used at  note",
        ">  2     keeper       1-16  14:32:05  0:40.0  12       1-12",
        "   5                  1-16            0:41.0           13-16    lazier",
        "   6     false start",
    ]


def test_a_length_is_in_minutes_and_seconds() -> None:
    assert length_text(TakeSpan(number=1, file_seconds=Fraction(1874, 10))) == "3:07.4"
    assert length_text(TakeSpan(number=1, file_seconds=Fraction(5999, 100))) == "1:00.0"
    assert length_text(TakeSpan(number=1)) == ""
