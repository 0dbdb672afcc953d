from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.editing.comp import parse_comp
from logbook.editing.survey import CompSurvey, PieceFault, Section, survey_comp
from logbook.editing.takes import TakeId, TakeResult, TakeSpan, parse_punch_in
from logbook.errors import LogbookError
from logbook.timing.bars import BarRange, parse_point, parse_range
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo_map import TempoMap

STEADY = read_tempo_map("4/4", "96")
FORM = (
    Section("verse", parse_range("1-16")),
    Section("chorus", parse_range("17-32")),
    Section("outro", parse_range("33-48")),
)
TAKES = (
    TakeSpan(number=2, bars=parse_range("1-48"), punch_ins=(parse_punch_in("12 pass 2 flat"),)),
    TakeSpan(number=5, bars=parse_range("17-40")),
)


def survey(
    comp: str,
    takes: tuple[TakeSpan, ...] = TAKES,
    form: tuple[Section, ...] = FORM,
    tempo_map: TempoMap = STEADY,
) -> CompSurvey:
    return survey_comp(parse_comp(comp), takes, form, tempo_map, 48000)


def said(ranges: tuple[BarRange, ...]) -> list[str]:
    return [str(each) for each in ranges]


def test_gaps_overlaps_and_what_is_outside_the_form_are_found() -> None:
    found = survey("1-16 take 2\n16.3-24 take 5\n30-50 take 2")
    assert said(found.covered) == ["1-24", "30-50"]
    assert said(found.gaps) == ["25-29"]
    assert [(str(each.bars), each.takes) for each in found.overlaps] == [
        ("16.3-17.1", (TakeId(2), TakeId(5)))
    ]
    assert said(found.outside_form) == ["49-50"]


def test_bars_used_twice_are_told_with_where() -> None:
    found = survey("1-40 take 2\n41-44 take 2 @ 9-12\n45-48 take 2 @ 13-16")
    uses = {use.bar: use for use in found.uses}
    assert uses[8].times == 1
    assert uses[9].times == 2
    assert said(uses[9].at) == ["9", "41"]
    assert [
        (str(each.source), str(each.at), each.is_moved, said(each.also_at)) for each in found.reuses
    ] == [
        ("9-16", "9-16", False, ["41-48"]),
        ("9-16", "41-48", True, ["9-16"]),
    ]


def test_a_bar_shared_by_two_pieces_is_used_once() -> None:
    found = survey("1-9.3 take 2\n9.3-16 take 2\n17-32 take 2\n33-48 take 2")
    assert {use.times for use in found.uses} == {1}
    assert not found.reuses


def test_moved_bars_are_reused_even_when_heard_once() -> None:
    found = survey("1-16 take 2\n17-32 take 5\n33-40 take 5 @ 17-24\n41-48 take 2 @ 25-32")
    moved = [each for each in found.reuses if not each.is_repeated]
    assert [(str(each.source), str(each.at), each.is_moved) for each in moved] == [
        ("25-32", "41-48", True)
    ]


def test_shares_make_a_whole() -> None:
    found = survey("1-24.3 take 2\n24.3-40 take 5\n41-48 take 2")
    assert [(each.take.number, each.bars, each.share) for each in found.shares] == [
        (2, Fraction(63, 2), Fraction(63, 96)),
        (5, Fraction(33, 2), Fraction(33, 96)),
    ]


def test_bars_never_used_are_listed_take_by_take() -> None:
    found = survey("1-24.3 take 2\n24.3-40 take 5\n41-48 take 2")
    assert [(each.take.number, said(each.bars)) for each in found.unused] == [
        (2, ["24.3-40"]),
        (5, ["17-24.3"]),
    ]


def test_joins_say_whether_they_fall_inside_a_section() -> None:
    found = survey("1-16 take 2\n17-24.3 take 5 xfade 10ms\n24.3-32 take 5\n33-48 take 2 xfade 5ms")
    assert [
        (str(join.at), int(join.crossfade_ms), join.is_continuous, join.section)
        for join in found.joins
    ] == [
        ("17", 10, False, ""),
        ("24.3", 0, True, "chorus"),
        ("33", 5, False, ""),
    ]


def test_length_is_in_bars_seconds_and_samples() -> None:
    found = survey("1-16 take 2\n20-21.3 take 2")
    assert found.length_bars == Fraction(35, 2)
    assert found.length_seconds == Fraction(35, 2) * Fraction(5, 2)
    assert found.length_samples == 35 * 60000
    assert survey_comp(parse_comp("1 take 2"), TAKES, FORM, STEADY).length_samples is None


def test_a_pick_up_is_a_part_of_a_bar() -> None:
    song = read_tempo_map("4/4", "60", "1 q")
    form = (Section("verse", parse_range("0-8")),)
    found = survey("0-8 take 1", (TakeSpan(number=1, bars=parse_range("0-8")),), form, song)
    assert found.length_bars == Fraction(33, 4)
    assert found.length_seconds == 33
    assert not found.gaps
    assert found.is_untouched


def test_one_pass_is_untouched_when_nothing_heard_was_punched() -> None:
    assert survey("1-48 take 2").is_one_pass
    assert not survey("1-48 take 2").is_untouched
    assert survey("17-24 take 5\n25-40 take 5").is_untouched
    assert survey("17-32 take 2").is_untouched
    assert not survey("17-24 take 5 @ 18-25").is_one_pass
    assert not survey("17-24 take 5\n26-32 take 5").is_one_pass
    assert not survey("17-24 take 5\n25-32 take 2").is_one_pass


def test_a_punch_in_is_heard_wherever_its_bar_stands() -> None:
    found = survey("1-40 take 2\n41-48 take 2 @ 9-16")
    assert [(each.take.number, said(each.at)) for each in found.punch_ins] == [(2, ["12", "44"])]
    assert not survey("1-11 take 2\n17-32 take 5").punch_ins


def test_a_number_and_its_session_are_one_take() -> None:
    takes = (TakeSpan(number=2, session="Friday", bars=parse_range("1-48")),)
    found = survey("1-16 take 2\n17-48 take 2/Friday", takes)
    assert found.is_untouched
    assert [each.take for each in found.shares] == [TakeId(2, "Friday")]


def test_what_is_wrong_with_a_source_is_named() -> None:
    takes = (
        *TAKES,
        TakeSpan(number=6, result=TakeResult.REJECT, bars=parse_range("1-48")),
        TakeSpan(number=7, session="Friday"),
        TakeSpan(number=7, session="Saturday"),
    )

    def faults(line: str) -> list[tuple[str, str]]:
        return [(each.kind, str(each.bars)) for each in survey(line, takes).faults]

    assert faults("1-8 take 2") == []
    assert faults("1-8 take 7/Friday") == []
    assert faults("1-8 take 9") == [("no such take", "1-8")]
    assert faults("1-8 take 7") == [("several such takes", "1-8")]
    assert faults("1-8 take 7/Sunday") == [("no such take", "1-8")]
    assert faults("1-8 take 6") == [("rejected", "1-8")]
    assert faults("15-18 take 5") == [("outside the take", "15-16")]
    assert faults("9-48 take 5") == [("outside the take", "9-16"), ("outside the take", "41-48")]
    assert faults("1-8 take 2 @ 9-15") == [("another length", "9-15")]


def test_a_source_at_another_tempo_says_how_much_longer_it_is() -> None:
    slowing = read_tempo_map("4/4", ["120", "17 60"])
    piece = parse_comp("17-20 take 2 @ 1-4")
    found = survey_comp(piece, TAKES, FORM, slowing)
    assert found.faults == (
        PieceFault("another tempo", piece[0], parse_range("1-4"), Fraction(-8)),
    )


def test_bars_of_another_meter_have_another_length() -> None:
    mixed = read_tempo_map(["4/4", "17 3/4"], "96")
    found = survey_comp(parse_comp("17-20 take 2 @ 1-4"), TAKES, FORM, mixed)
    assert [each.kind for each in found.faults] == ["another length"]
    same = survey_comp(parse_comp("17-20 take 2 @ 1-3"), TAKES, FORM, mixed)
    assert not same.faults


def test_an_empty_comp_is_all_gap() -> None:
    found = survey("")
    assert said(found.gaps) == ["1-48"]
    assert found.length_bars == 0
    assert not found.is_one_pass
    assert not found.shares


def test_a_beat_that_is_not_there_is_refused() -> None:
    with pytest.raises(LogbookError, match="has 4 beats"):
        survey("1-8.5 take 2")


def test_pieces_come_in_the_order_of_the_part() -> None:
    found = survey("17-48 take 2\n1-16 take 2")
    assert [str(piece.bars) for piece in found.pieces] == ["1-16", "17-48"]
    assert found.joins[0].at == parse_point("17")
