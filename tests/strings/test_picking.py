from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.strings.picking import (
    STROKE_NAMES,
    GridCell,
    PickingPattern,
    Stroke,
    grid_text,
    parse_grid,
    parse_swing,
    pattern_text,
    read_pattern,
    struck_strings,
    swing_text,
)
from logbook.strings.picking_cells import GHOST, SOFT
from logbook.strings.picking_count import pattern_bars, pattern_lines
from logbook.timing.meter import Meter, parse_meter
from logbook.timing.tempo import parse_tempo

SIX_EIGHT = Meter(6, 8)
PLAIN = st.just(0)
STRINGS = st.lists(st.integers(1, 12), unique=True, max_size=3).map(tuple)
NAMED = st.lists(st.integers(1, 12), unique=True, min_size=1, max_size=3).map(tuple)
LEGATO = st.builds(Stroke, st.sampled_from("hlsS"), NAMED, st.integers(0, 12))
SINGLE = st.builds(Stroke, st.sampled_from("DUduBbpimacPTOR"), STRINGS, PLAIN) | LEGATO
SINGLE |= st.sampled_from("x*r").map(Stroke)
TOGETHER = st.lists(st.sampled_from("Bbpima"), unique=True, min_size=2, max_size=4).flatmap(
    lambda kinds: st.tuples(*(st.builds(Stroke, st.just(kind), STRINGS, PLAIN) for kind in kinds))
)
FORCES = st.sampled_from([(False, 0), (True, 0), (False, SOFT), (False, GHOST)])
PICKED = st.builds(Stroke, st.sampled_from("DU"), NAMED, PLAIN)
BOTH = st.tuples(PICKED, st.builds(Stroke, st.sampled_from("imac"), STRINGS, PLAIN))


def _played(strokes: tuple[Stroke, ...], force: tuple[bool, int], palm: bool) -> GridCell:
    return GridCell(strokes, force[0], force[1], palm)


ONE = st.just(GridCell()) | st.builds(
    _played, SINGLE.map(lambda stroke: (stroke,)) | TOGETHER | BOTH, FORCES, st.booleans()
)


@st.composite
def cells(draw: st.DrawFn, steps: int) -> tuple[GridCell, ...]:
    """Cells of so many steps, some of them shared by others; a few kinds that come again."""
    kinds = draw(st.lists(ONE, min_size=1, max_size=5))
    braces = draw(st.lists(st.lists(ONE, min_size=2, max_size=5).map(tuple), max_size=2))
    found: list[GridCell] = []
    for which in draw(st.lists(st.integers(0, 99), min_size=steps, max_size=steps)):
        last = min(steps, which % 4 + 1)
        if not steps:
            break
        if braces and which >= 85:
            cell = GridCell(split=braces[which % len(braces)], steps=last)
        else:
            last, cell = 1, kinds[which % len(kinds)]
        found.append(cell)
        steps -= last
    return tuple(found)


@st.composite
def patterns(draw: st.DrawFn) -> PickingPattern:
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), SIX_EIGHT, Meter(7, 8), Meter(2, 2)]))
    grid = Fraction(1, draw(st.sampled_from([8, 16, 24, 32])))
    steps = int(meter.bar_length / grid)
    bars = [draw(cells(steps)) for _ in range(draw(st.integers(1, 2)))] * draw(st.integers(1, 2))
    swings = meter.felt_beat_length / grid % 2 == 0
    swing = draw(st.fractions(Fraction(1, 4), 4, max_denominator=5)) if swings else Fraction(1)
    lead = draw(cells(draw(st.integers(0, steps))))
    played = tuple(cell for bar in bars for cell in bar)
    return PickingPattern(cells=played, grid=grid, meter=meter, swing=swing, lead=lead)


# One property in three parts: to draw a pattern takes longer than to try all of it.
@settings(deadline=None, max_examples=60)
@given(patterns(), st.integers(40, 240))
def test_a_pattern_reads_back_and_is_in_order_and_in_columns(
    pattern: PickingPattern, width: int
) -> None:
    is_written_and_read_back(pattern)
    stands_in_order(pattern)
    lines_up(pattern, width)


def is_written_and_read_back(pattern: PickingPattern) -> None:
    texts = str(pattern), grid_text(pattern.grid), pattern.meter, swing_text(pattern.swing)
    assert read_pattern(*texts) == pattern


def stands_in_order(pattern: PickingPattern) -> None:
    starts = [each.start for each in pattern.placed()]
    assert starts == sorted(set(starts))
    assert all(0 <= start < pattern.length for start in starts)
    assert pattern.length == pattern.bars * pattern.meter.bar_length
    before = [each.start for each in pattern.lead_placed()]
    assert before == sorted(set(before))
    # A step that swing makes long begins earlier than an even one would.
    earliest = -pattern.lead_length - pattern.grid
    assert all(earliest < start < 0 for start in before)


def lines_up(pattern: PickingPattern, width: int) -> None:
    lines = pattern_lines(pattern, width)
    columns = [column for bar in pattern_bars(pattern) for column in bar]
    assert len(lines) % 2 == 0
    counts = " | ".join(lines[::2]).replace("|", " ").split()
    strokes = " | ".join(lines[1::2]).replace("|", " ")
    assert counts == [column.counted for column in columns if column.counted]
    assert strokes.split() == " ".join(column.text for column in columns).split()
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
    sixteenths = pattern_lines(read_pattern("D.......U...", "1/16", SIX_EIGHT))
    assert sixteenths[0].split()[:4] == ["1", "&", "2", "&"]


def test_triplets_and_wide_grids_are_counted() -> None:
    assert pattern_lines(read_pattern("D.U D.U D.U D.U", "1/8t")) == [
        "1 & a 2 & a 3 & a 4 & a",
        "D . U D . U D . U D . U",
    ]
    assert pattern_lines(read_pattern("D D", "1/2"))[0].split() == ["1", "3"]


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


@pytest.mark.parametrize("text", ["sw", "0:2", "swing 2", "swing 2:0", "swing x:y"])
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
        ("D.DU.UDK", "1/8", "4/4", "", '"K" in "D.DU.UDK" is not a stroke'),
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
        strings = (4,) if letter in "hlsS" else ()
        stroke = Stroke(letter, strings)
        (cell,) = read_pattern(str(stroke), "1/1").cells
        assert cell == GridCell((stroke,))


def test_swing_goes_both_ways() -> None:
    snap = read_pattern("DUDU DUDU", "1/8", swing="swing 1:2")
    assert [each.start for each in snap.placed()[:3]] == [0, Fraction(1, 12), Fraction(1, 4)]
    assert swing_text(snap.swing) == "swing 1:2"
    with pytest.raises(LogbookError, match="leaves a step no time"):
        PickingPattern(cells=(GridCell(),) * 8, grid=Fraction(1, 8), swing=Fraction(0))


def test_braces_share_the_time_of_their_steps() -> None:
    mixed = read_pattern("D {DU} {DUD}2 D . D U", "1/8")
    assert [each.start * 8 for each in mixed.placed()] == [
        0, 1, Fraction(3, 2), 2, Fraction(8, 3), Fraction(10, 3), 4, 6, 7,
    ]  # fmt: skip
    assert str(mixed) == "D{D U} {D U D}2 D. DU"
    strokes = ["D", "{D", "U}", "{D", "U", "D}2", "D", ".", "D", "U"]
    assert pattern_lines(mixed)[1].split() == strokes
    assert pattern_lines(mixed)[0].split() == ["1", "&", "a", "2", "&", "a", "3", "&", "4", "&"]


def test_how_hard_and_how_damped_a_stroke_is() -> None:
    cells = read_pattern(">D <D (D) _D >_[pm] (_U) [D5 m3] .", "1/8").cells
    assert [(cell.accent, cell.soft, cell.palm) for cell in cells[:6]] == [
        (True, 0, False), (False, SOFT, False), (False, GHOST, False), (False, 0, True),
        (True, 0, True), (False, GHOST, True),
    ]  # fmt: skip
    assert cells[6].strokes == (Stroke("D", (5,)), Stroke("m", (3,)))


def test_strings_from_ten_up() -> None:
    cells = read_pattern("p10+ D12+11+3 p12 .", "1/4").cells
    assert [cell.strokes[0].strings for cell in cells[:3]] == [(10,), (12, 11, 3), (1, 2)]
    assert str(cells[0]) == "p10+"


def test_what_begins_before_the_bar_and_what_is_repeated() -> None:
    pattern = read_pattern("DU ^ D.DU .UDU x2", "1/8")
    assert pattern.bars == 2
    assert [each.start for each in pattern.lead_placed()] == [Fraction(-1, 4), Fraction(-1, 8)]
    assert str(pattern) == "DU ^ D. DU .U DU x2"
    one = read_pattern("D.DU .UDU x2 | x....... ", "1/8")
    assert one.bars == 3
    assert pattern_lines(read_pattern("U ^ D D D D", "1/4")) == ["4   | 1 2 3 4", "U ^ | D D D D"]


@pytest.mark.parametrize(
    ("strokes", "said"),
    [
        ("D.DU.UDU x1", "repeats nothing"),
        ("D.DU.UDU x65", "repeats nothing"),
        ("^ D.DU.UDU", "does not stand after"),
        ("D ^ D ^ D.DU.UD", "does not stand after"),
        ("D.DU.UDUD ^ D.DU.UDU", "more than a bar"),
        ("D.DU.UD{DU", "never closed"),
        ("D.DU.UD{D}", "hold 1 cell"),
        ("D.DU.UD{D|U}", "does not go in braces"),
        ("D.DU.UD{DU}2", "has 9 steps"),
        ("D.DU.U.{DU}2 D.DU.UD", "goes over a bar line"),
        ("D.DU.UD(D", "never closed"),
        ("D.DU.UD(>D)", "not a ghost stroke"),
        ("D.DU.UD<.", "marks a step with no stroke"),
        ("D.DU.UDh", "does not say on which string"),
        ("D.DU.UDp4-2", "goes a way it cannot"),
        ("D.DU.UDp25+", "names strings it cannot strike"),
    ],
)
def test_what_cannot_be_meant_says_why(strokes: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        read_pattern(strokes, "1/8")


def test_the_new_strokes_meet_their_strings() -> None:
    sounding = [2, 3, 4, 5]
    met = {
        text: struck_strings(read_pattern(text, "1/1").cells[0].strokes[0], sounding, 6)
        for text in ("T", "O", "R", "R432", "c", "h4", "s6")
    }
    assert met == {
        "T": (5,), "O": (2,), "R": (5, 4, 3, 2), "R432": (4, 3, 2), "c": (2,), "h4": (4,), "s6": (),
    }  # fmt: skip


def test_a_pattern_is_counted_and_grouped_as_its_meter_is() -> None:
    meter = parse_meter("3+2+2/8")
    pattern = read_pattern("DuuDuDu", "1/8", meter)
    assert "".join(pattern_lines(pattern)[0].split()) == "1231212"
    assert pattern_text(pattern) == "Duu Du Du"
    assert read_pattern(pattern_text(pattern), "1/8", meter) == pattern
