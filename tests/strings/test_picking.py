from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.strings.picking import (
    STROKE_NAMES,
    GridCell,
    PickingPattern,
    Stroke,
    count_labels,
    grid_text,
    parse_grid,
    parse_swing,
    pattern_lines,
    pattern_text,
    read_pattern,
    struck_strings,
    swing_text,
)
from logbook.timing.meter import Meter, parse_meter
from logbook.timing.tempo import parse_tempo

SIX_EIGHT = Meter(6, 8)
STRINGS = st.lists(st.integers(1, 9), unique=True, max_size=3).map(tuple)
SINGLE = st.builds(Stroke, st.sampled_from("DUduBbpimaP"), STRINGS) | st.sampled_from("x*r").map(
    Stroke
)
TOGETHER = st.lists(st.sampled_from("Bbpima"), unique=True, min_size=2, max_size=4).flatmap(
    lambda kinds: st.tuples(*(st.builds(Stroke, st.just(kind), STRINGS) for kind in kinds))
)
CELLS = (
    st.just(GridCell())
    | st.builds(GridCell, SINGLE.map(lambda stroke: (stroke,)), st.booleans())
    | st.builds(GridCell, TOGETHER, st.booleans())
)


@st.composite
def patterns(draw: st.DrawFn) -> PickingPattern:
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), SIX_EIGHT, Meter(7, 8), Meter(2, 2)]))
    grid = Fraction(1, draw(st.sampled_from([8, 16, 24, 32])))
    steps = int(meter.bar_length / grid) * draw(st.integers(1, 2))
    swings = meter.felt_beat_length / grid % 2 == 0
    swing = draw(st.fractions(1, 4, max_denominator=5)) if swings else Fraction(1)
    cells = draw(st.lists(CELLS, min_size=steps, max_size=steps))
    return PickingPattern(cells=tuple(cells), grid=grid, meter=meter, swing=swing)


@given(patterns())
def test_a_pattern_is_written_and_read_back(pattern: PickingPattern) -> None:
    texts = str(pattern), grid_text(pattern.grid), pattern.meter, swing_text(pattern.swing)
    assert read_pattern(*texts) == pattern


@given(patterns())
def test_strokes_stand_in_order_inside_the_pattern(pattern: PickingPattern) -> None:
    starts = [each.start for each in pattern.placed()]
    assert starts == sorted(set(starts))
    assert all(0 <= start < pattern.length for start in starts)
    assert pattern.length == pattern.bars * pattern.meter.bar_length


@given(patterns(), st.integers(40, 240))
def test_columns_line_up(pattern: PickingPattern, width: int) -> None:
    lines = pattern_lines(pattern, width)
    assert len(lines) % 2 == 0
    cell_width = max(len(str(cell)) for cell in pattern.cells)
    steps = max(pattern.meter.felt_beat_length / pattern.grid, Fraction(1))
    if (cell_width + 1) * steps <= width:
        assert max(map(len, lines)) <= width
    counts = " | ".join(lines[::2]).replace("|", " ").split()
    strokes = " | ".join(lines[1::2]).replace("|", " ").split()
    assert counts == [label for label in count_labels(pattern) if label]
    assert strokes == [str(cell) for cell in pattern.cells]
    for count, stroke in zip(lines[::2], lines[1::2], strict=True):
        for column, letter in enumerate(count):
            if letter not in " |" and (column == 0 or count[column - 1] == " "):
                assert stroke[column] != " "
                assert column == 0 or stroke[column - 1] == " "


def test_a_strum_stands_under_its_count() -> None:
    strum = read_pattern("D.DU .UDU", "1/8")
    assert pattern_lines(strum) == [
        "1 & 2 & 3 & 4 &",
        "D . D U . U D U",
    ]
    assert str(strum) == "D. DU .U DU"


def test_sixteenths_are_counted_e_and_a() -> None:
    picked = read_pattern("p5.i.m.i. [p4a].i.m.i.", "16ths")
    assert pattern_lines(picked, 100) == [
        "1     e     &     a     2     e     &     a     "
        "3     e     &     a     4     e     &     a",
        "p5    .     i     .     m     .     i     .     "
        "[p4a] .     i     .     m     .     i     .",
    ]
    assert pattern_lines(picked) == [
        "1     e     &     a     2     e     &     a     3     e     &     a",
        "p5    .     i     .     m     .     i     .     [p4a] .     i     .",
        "4     e     &     a",
        "m     .     i     .",
    ]


def test_six_eight_is_counted_to_six() -> None:
    assert pattern_lines(read_pattern("p i m a m i", "1/8", SIX_EIGHT)) == [
        "1 2 3 4 5 6",
        "p i m a m i",
    ]
    assert count_labels(read_pattern("D.......U...", "1/16", SIX_EIGHT))[:4] == ("1", "&", "2", "&")


def test_triplets_and_wide_grids_are_counted() -> None:
    assert pattern_lines(read_pattern("D.U D.U D.U D.U", "1/8t")) == [
        "1 & a 2 & a 3 & a 4 & a",
        "D . U D . U D . U D . U",
    ]
    assert count_labels(read_pattern("D D", "1/2")) == ("1", "3")


def test_two_bars_have_a_line_between_and_break_where_they_must() -> None:
    two = read_pattern("D.DU.UDU | >D.x.DUx.", "1/8")
    assert pattern_lines(two) == [
        "1  &  2  &  3  &  4  &  | 1  &  2  &  3  &  4  &",
        "D  .  D  U  .  U  D  U  | >D .  x  .  D  U  x  .",
    ]
    assert pattern_lines(two, 40) == [
        "1  &  2  &  3  &  4  &",
        "D  .  D  U  .  U  D  U",
        "1  &  2  &  3  &  4  &",
        ">D .  x  .  D  U  x  .",
    ]


def test_strokes_have_exact_places_straight_and_swung() -> None:
    straight = read_pattern("DUDU DUDU", "1/8")
    assert [each.start for each in straight.placed()] == [Fraction(n, 8) for n in range(8)]
    swung = read_pattern("DUDU DUDU", "1/8", swing="swing")
    assert [each.start for each in swung.placed()[:4]] == [
        0,
        Fraction(1, 6),
        Fraction(1, 4),
        Fraction(5, 12),
    ]
    gentle = read_pattern("DUDU DUDU", "1/8", swing="3:2")
    assert gentle.placed()[1].start == Fraction(3, 20)


def test_strokes_a_second_follow_the_tempo() -> None:
    strum = read_pattern("D.DU .UDU", "1/8")
    tempo = parse_tempo("q=120")
    assert strum.strokes_a_second(tempo) == 3.0
    assert strum.fastest_strokes_a_second(tempo) == 4.0
    assert strum.strokes_a_second(parse_tempo("q=60")) == 1.5
    swung = read_pattern("D.DU .UDU", "1/8", swing="swing")
    assert swung.fastest_strokes_a_second(tempo) == 6.0
    assert read_pattern("r...", "1/4").fastest_strokes_a_second(tempo) == 0.0
    assert read_pattern("D...", "1/4").fastest_strokes_a_second(tempo) == 0.5


def test_a_rest_stops_the_strings_and_is_no_stroke() -> None:
    pattern = read_pattern("D r * x", "1/4")
    assert [cell.is_struck for cell in pattern.cells] == [True, False, True, True]
    assert len(pattern.placed()) == 4


@pytest.mark.parametrize(
    ("stroke", "strings"),
    [
        ("D", (5, 4, 3, 2)),
        ("U", (2, 3, 4, 5)),
        ("D432", (4, 3, 2)),
        ("U12", (2,)),
        ("d", (6, 5, 4, 3, 2, 1)),
        ("u", (1, 2, 3, 4, 5, 6)),
        ("d654", (6, 5, 4)),
        ("B", (5,)),
        ("b", (4,)),
        ("p", (5,)),
        ("p4", (4,)),
        ("p6", ()),
        ("i", (3,)),
        ("m", (2,)),
        ("a", (2,)),
        ("P", (5, 2)),
        ("P42", (4, 2)),
        ("x", ()),
        ("*", ()),
        ("r", ()),
    ],
)
def test_a_stroke_meets_the_strings_that_sound(stroke: str, strings: tuple[int, ...]) -> None:
    (cell,) = read_pattern(stroke, "1/1").cells
    assert struck_strings(cell.strokes[0], [2, 3, 4, 5], 6) == strings


def test_nothing_sounds_without_strings() -> None:
    assert struck_strings(Stroke("D"), [], 6) == ()
    assert struck_strings(Stroke("b"), [3], 4) == (3,)
    assert struck_strings(Stroke("P"), [3], 4) == (3,)


@pytest.mark.parametrize(
    ("text", "grid"),
    [
        ("1/16", Fraction(1, 16)),
        ("16ths", Fraction(1, 16)),
        ("8th", Fraction(1, 8)),
        ("32nds", Fraction(1, 32)),
        ("eighths", Fraction(1, 8)),
        ("1/8t", Fraction(1, 12)),
        ("8th triplets", Fraction(1, 12)),
        ("sixteenth triplet", Fraction(1, 24)),
        ("1/12", Fraction(1, 12)),
    ],
)
def test_grids_are_read_as_people_say_them(text: str, grid: Fraction) -> None:
    assert parse_grid(text) == grid
    assert parse_grid(grid_text(grid)) == grid


@pytest.mark.parametrize("text", ["", "16", "2/16", "1/0", "fast", "t", "1/1000"])
def test_what_is_no_grid_is_refused(text: str) -> None:
    with pytest.raises(LogbookError, match="is not a grid"):
        parse_grid(text)


@pytest.mark.parametrize("text", ["sw", "1:2", "swing 2", "swing 2:0", "swing x:y"])
def test_what_is_no_swing_is_refused(text: str) -> None:
    with pytest.raises(LogbookError, match="not a way to swing"):
        parse_swing(text)


@pytest.mark.parametrize(
    ("strokes", "grid", "meter", "swing", "said"),
    [
        ("", "1/8", "4/4", "", "has 0 steps of 1/8, and a bar of 4/4 has 8"),
        ("D.DU.UD", "1/8", "4/4", "", "has 7 steps of 1/8, and a bar of 4/4 has 8; write 8 steps"),
        ("D.DU.UDU", "1/8", "6/8", "", "has 8 steps of 1/8, and a bar of 6/8 has 6"),
        ("DU", "1/4", "7/8", "", "does not divide a bar of 7/8"),
        ("D.DU | .UDU", "1/8", "4/4", "", "a bar line .* after 4 steps"),
        ("D.DU.UDK", "1/8", "4/4", "", '"K" in "D.DU.UDK" is no stroke'),
        ("D.DU.UD>", "1/8", "4/4", "", "breaks off"),
        ("D.DU.UD>.", "1/8", "4/4", "", "accents a step with no stroke"),
        ("D.DU.U[pm", "1/8", "4/4", "", "never closed"),
        ("D.DU.U[]D", "1/8", "4/4", "", "are empty"),
        ("D.DU.U[pD]D", "1/8", "4/4", "", '"D" does not go in brackets'),
        ("D.DU.U[pp]D", "1/8", "4/4", "", '"p" does not go in brackets'),
        ("D.DU.Ux3D", "1/8", "4/4", "", '"x3" .* names strings it cannot strike'),
        ("D.DU.Up0D", "1/8", "4/4", "", '"p0" .* names strings it cannot strike'),
        ("D.DU.Up55D", "1/8", "4/4", "", "names a string twice"),
        ("DUD DUD DUD DUD", "1/8t", "4/4", "swing", "no pairs of steps to swing"),
        ("DUD DUD", "1/8", "6/8", "swing", "no pairs of steps to swing"),
    ],
)
def test_what_is_no_pattern_is_refused_with_the_reason(
    strokes: str, grid: str, meter: str, swing: str, said: str
) -> None:
    beats, unit = meter.split("/")
    with pytest.raises(LogbookError, match=said):
        read_pattern(strokes, grid, Meter(int(beats), int(unit)), swing)


def test_every_letter_has_a_name_and_is_read() -> None:
    for letter in STROKE_NAMES:
        (cell,) = read_pattern(letter, "1/1").cells
        assert cell == GridCell((Stroke(letter),))


def test_a_backward_swing_is_refused() -> None:
    with pytest.raises(LogbookError, match="shortens the first step"):
        PickingPattern(cells=(GridCell(),) * 8, grid=Fraction(1, 8), swing=Fraction(1, 2))


def test_a_pattern_is_counted_and_grouped_as_its_meter_is() -> None:
    meter = parse_meter("3+2+2/8")
    pattern = read_pattern("DuuDuDu", "1/8", meter)
    assert "".join(count_labels(pattern)) == "1231212"
    assert pattern_text(pattern) == "Duu Du Du"
    assert read_pattern(pattern_text(pattern), "1/8", meter) == pattern
