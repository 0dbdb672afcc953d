from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.editing.takes import (
    PunchedBars,
    TakeId,
    TakeResult,
    TakeSpan,
    implied_tempo,
    parse_punch_in,
    parse_result,
    parse_take_id,
    take_of,
)
from logbook.errors import LogbookError
from logbook.timing.bars import parse_range
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo import parse_tempo


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("k", TakeResult.KEEPER),
        ("keeper", TakeResult.KEEPER),
        ("comp", TakeResult.COMPLETE),
        ("inc", TakeResult.INCOMPLETE),
        ("false", TakeResult.FALSE_START),
        ("False-Start", TakeResult.FALSE_START),
        ("rejected", TakeResult.REJECT),
    ],
)
def test_a_result_is_known_by_its_beginning(text: str, result: TakeResult) -> None:
    assert parse_result(text) is result


@pytest.mark.parametrize("text", ["", "good", "keepers", " "])
def test_another_word_is_no_result(text: str) -> None:
    with pytest.raises(LogbookError, match="keeper, complete, incomplete, false start, reject"):
        parse_result(text)


@pytest.mark.parametrize(
    "take",
    [
        TakeId(2),
        TakeId(2, "Saturday"),
        TakeId(12, "second day"),
        TakeId(1, "a@b"),
        TakeId(3, 'the "long" day'),
    ],
)
def test_a_take_is_written_and_read_back(take: TakeId) -> None:
    assert parse_take_id(str(take)) == take


@pytest.mark.parametrize("text", ["", "0", "two", "2/", "-1", '2/"a', "2 3"])
def test_what_is_no_take_is_refused(text: str) -> None:
    with pytest.raises(LogbookError, match="is not a take"):
        parse_take_id(text)


@pytest.mark.parametrize(
    ("text", "punch_in"),
    [
        ("12", PunchedBars(parse_range("12"))),
        ("12-13 pass 3", PunchedBars(parse_range("12-13"), 3)),
        (
            "12.3-13 pass 2 late on the change",
            PunchedBars(parse_range("12.3-13"), 2, "late on the change"),
        ),
        ("30 a passing buzz", PunchedBars(parse_range("30"), 2, "a passing buzz")),
    ],
)
def test_a_punch_in_has_bars_a_pass_and_a_reason(text: str, punch_in: PunchedBars) -> None:
    assert parse_punch_in(text) == punch_in
    assert parse_punch_in(str(punch_in)) == punch_in


@pytest.mark.parametrize(
    ("text", "said"),
    [("", "empty"), ("12 pass 1", "first recording is pass 1"), ("12 pass x", "not the pass")],
)
def test_what_is_no_punch_in_is_refused(text: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        parse_punch_in(text)


def test_the_implied_tempo_fills_the_audio_with_the_bars() -> None:
    song = read_tempo_map("4/4", "96")
    take = TakeSpan(number=1, bars=parse_range("1-16"), file_seconds=Fraction(40))
    assert implied_tempo(take, song) == parse_tempo("96")
    late = TakeSpan(number=2, bars=parse_range("1-16"), file_seconds=Fraction(42))
    assert implied_tempo(late, song) == parse_tempo("640/7")
    compound = read_tempo_map("6/8", "60")
    assert implied_tempo(take, compound) == parse_tempo("q.=48")
    assert implied_tempo(TakeSpan(number=3, bars=parse_range("1-16")), song) is None
    assert implied_tempo(TakeSpan(number=3, file_seconds=Fraction(9)), song) is None


def test_a_number_finds_its_take_only_when_it_is_the_only_one() -> None:
    first, second = TakeSpan(number=2, session="Friday"), TakeSpan(number=2, session="Saturday")
    other = TakeSpan(number=3, session="Friday")
    assert take_of([first, other], TakeId(2)) is first
    assert take_of([first, second], TakeId(2)) is None
    assert take_of([first, second], TakeId(2, "Saturday")) is second
    assert take_of([first], TakeId(2, "Sunday")) is None


def test_a_session_with_blanks_needs_no_quotes_where_nothing_follows() -> None:
    assert parse_take_id("2/second day") == TakeId(2, "second day")
    assert parse_take_id('2/"second day"') == TakeId(2, "second day")


def test_takes_of_several_sessions_are_each_listed_with_their_own() -> None:
    from logbook.editing.take_list import take_list_rows
    from logbook.timing.map_text import read_tempo_map

    song = read_tempo_map("4/4", "q=120")
    days = [TakeSpan(number=1, session="day one"), TakeSpan(number=2, session="day two")]
    assert [row[1] for row in take_list_rows(days, song)[1:]] == ["1 of day one", "2 of day two"]
    assert [row[1] for row in take_list_rows(days[:1], song)[1:]] == ["1"]
