"""Pieces in seconds put on bars, and compared with a logged comp."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from logbook.editing import TakeId, comp_lines, parse_comp
from logbook.errors import LogbookError
from logbook.listening import Piece
from logbook.listening.pieces import AlsoIn
from logbook.listening.snapping import (
    as_comp,
    differences,
    infer_takes_at,
    snap,
    unknown_bars,
)
from logbook.timing import Meter, Tempo, TempoMap, constant_tempo, read_tempo_map

IDS = [TakeId(2), TakeId(5)]


def four_four() -> TempoMap:
    return constant_tempo(Tempo(Fraction(120)), Meter(4, 4))


def piece(start: float, end: float, take: int | None, source: float = 0.0) -> Piece:
    return Piece(start=start, end=end, source=source, take=take, gain_db=0.0, confidence=1.0)


def test_bars_beats_and_parts() -> None:
    pieces = [
        piece(0.0, 8.004, 0, 0.5),
        piece(8.004, 13.493, 1, 8.704),  # ends on beat 4 of bar 7
        piece(13.493, 14.752, 0, 13.993),  # ends half a beat into bar 8's second beat
        piece(14.752, 16.9, 1, 15.452),
    ]
    found = snap(pieces, four_four(), IDS, [0.5, 0.7], last_bar=8)
    assert comp_lines(as_comp(found)) == [
        "1-4 take 2",
        "5-7.4 take 5",
        "7.4-8.2+1/2 take 2",
        "8.2+1/2-9.1 take 5",
    ]
    assert all(one.on_grid for one in found)
    assert [round(one.start_moved_ms) for one in found] == [0, -4, 7, -2]


def test_a_section_used_twice_names_its_source() -> None:
    pieces = [piece(0.0, 16.0, 0, 0.5), piece(16.0, 20.0, 0, 4.5)]
    found = snap(pieces, four_four(), IDS, [0.5, None])
    assert comp_lines(as_comp(found)) == ["1-8 take 2", "9-10 take 2 @ 3-4"]


def test_unknown_becomes_no_line() -> None:
    pieces = [piece(0.0, 4.0, 0, 0.0), piece(4.0, 8.0, None), piece(8.0, 12.0, 0, 8.0)]
    found = snap(pieces, four_four(), IDS, [0.0, None])
    assert comp_lines(as_comp(found)) == ["1-2 take 2", "5-6 take 2"]
    assert [str(bars) for bars in unknown_bars(found)] == ["3-4"]


def test_a_fade_and_another_take_alike_come_into_the_line() -> None:
    faded = replace(piece(4.0, 8.0, 1, 4.0), fade=1.234, also=(AlsoIn(0, 9.0), AlsoIn(1, 4.0)))
    found = snap([piece(0.0, 4.0, 0, 0.0), faded], four_four(), IDS, [0.0, 0.0])
    # What another file of the same take holds is no other take.
    assert comp_lines(as_comp(found)) == [
        "1-2 take 2",
        "3-4 take 5 xfade 1230ms note also in take 2",
    ]


def test_an_edit_off_the_grid_stays_where_it_is() -> None:
    pieces = [piece(0.0, 5.07, 0, 0.0), piece(5.07, 8.0, 1, 5.07)]
    found = snap(pieces, four_four(), IDS, [0.0, 0.0])
    assert [one.on_grid for one in found] == [True, False]
    at = float(four_four().seconds_at(found[1].bars.start))
    assert at == pytest.approx(5.07, abs=0.003)
    assert parse_comp(comp_lines(as_comp(found))) == as_comp(found)


def test_a_pick_up_and_changing_meters() -> None:
    tempo_map = read_tempo_map(meters=["1 4/4", "3 3/4"], tempos=["1 q=120"], pickup="1/4")
    # The pick-up lasts 0.5 s; bars 1-2 then last 4 s, bar 3 begins at 4.5 s.
    pieces = [piece(0.0, 4.5, 0, 0.0), piece(4.5, 7.5, 1, 4.5)]
    found = snap(pieces, tempo_map, IDS, [0.0, 0.0])
    assert comp_lines(as_comp(found)) == ["0-2 take 2", "3-4 take 5"]


def test_where_the_takes_begin_is_inferred() -> None:
    pieces = [piece(0.0, 8.0, 0, 0.5), piece(8.0, 10.0, 0, 2.5), piece(10.0, 14.0, 1, 10.7)]
    assert infer_takes_at(pieces, 3) == [0.5, pytest.approx(0.7), None]
    assert infer_takes_at(pieces, 3, bounce_at_s=1.0)[0] == 1.5


def test_silence_before_the_music_is_left_out() -> None:
    pieces = [piece(0.0, 1.2, None), piece(1.2, 5.2, 0, 0.5)]
    found = snap(pieces, four_four(), IDS, [0.5, None], bounce_at_s=1.2)
    assert comp_lines(as_comp(found)) == ["1-2 take 2"]


def test_errors() -> None:
    with pytest.raises(LogbookError, match="nobody knows where the music begins in take 5"):
        snap([piece(0.0, 4.0, 1, 0.0)], four_four(), IDS, [0.0, None])
    with pytest.raises(LogbookError, match="none of the bounce lies in the bars"):
        snap([piece(9.0, 12.0, 0, 0.0)], four_four(), IDS, [0.0, 0.0], last_bar=2)
    assert snap([], four_four(), IDS, []) == []


def test_differences_from_the_log() -> None:
    heard = parse_comp("1-4 take 2\n5-8 take 5\n9-10 take 2 @ 3-4")
    logged = parse_comp("1-5 take 2 note as I remember\n6-8 take 5 xfade 10ms\n9-10 take 2")
    found = differences(heard, logged, four_four())
    assert [str(one.bars) for one in found] == ["5", "9-10"]
    assert [str(one.heard and one.heard[1]) for one in found] == ["5", "3-4"]
    assert [one.logged and one.logged[0] for one in found] == [TakeId(2), TakeId(2)]
    assert differences(heard, heard, four_four()) == ()


def test_bars_only_one_of_them_has() -> None:
    found = differences(parse_comp("1-4 take 2"), parse_comp("1-8 take 2"), four_four())
    assert [(str(one.bars), one.heard) for one in found] == [("5-8", None)]
