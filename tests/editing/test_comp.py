from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.editing.comp import EditPiece, comp_lines, parse_comp, parse_piece
from logbook.editing.takes import TakeId
from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint, BarRange, parse_range

# Drawn from a list: hypothesis takes long over fractions of its own.
BEATS = st.sampled_from([Fraction(n, d) for d in range(1, 13) for n in range(d, 6 * d + 1)])
POINTS = st.builds(BarPoint, st.integers(0, 200), BEATS)
RANGES = (
    st.tuples(POINTS, POINTS)
    .map(lambda pair: BarRange(*sorted(pair)))
    .filter(lambda bars: bars.start < bars.end)
)
WORDS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P"]), min_size=1)
NOTES = st.lists(WORDS, max_size=4).map(" ".join)
PIECES = st.builds(
    EditPiece,
    bars=RANGES,
    take=st.one_of(
        st.builds(TakeId, st.integers(1, 99), NOTES, NOTES, NOTES, st.just("")),
        st.builds(
            TakeId,
            st.just(0),
            st.just(""),
            NOTES,
            NOTES,
            st.one_of(st.sampled_from(["mix", "master", "bounce"]), NOTES.filter(bool)),
        ),
    ),
    source=RANGES,
    crossfade_ms=st.builds(Fraction, st.integers(0, 2000), st.sampled_from([1, 2, 3, 7, 1000])),
    note=NOTES,
)


@given(st.lists(PIECES, max_size=4))
def test_a_comp_is_written_and_read_back(pieces: list[EditPiece]) -> None:
    assert list(parse_comp(comp_lines(pieces))) == pieces


def test_one_line_says_everything() -> None:
    piece = parse_piece("41-48 take 2 @ 9-16 xfade 10ms note third chorus was late")
    assert piece == EditPiece(
        bars=parse_range("41-48"),
        take=TakeId(2),
        source=parse_range("9-16"),
        crossfade_ms=Fraction(10),
        note="third chorus was late",
    )


@pytest.mark.parametrize(
    ("short", "full"),
    [
        ("1-8 t2", "1-8 take 2"),
        ("1-8 Take 2 @1-8", "1-8 take 2"),
        ("1-8 take2 @9-16 xfade 0.5 s", "1-8 take 2 @ 9-16 xfade 500ms"),
        ('1-3.3 take 2/"second day"', '1-3.3 take 2/"second day"'),
        ("1-8 take 2/sat@9-16", "1-8 take 2/sat @ 9-16"),
        ("  1-8   take 2   note  a  b ", "1-8 take 2 note a  b"),
        ("1-8 take 2 xfade 1/3ms", "1-8 take 2 xfade 1/3ms"),
        ("1-8 t2 of album", "1-8 take 2 of album"),
        ("9-16 Mix of album @25-32", "9-16 mix of album @ 25-32"),
        ("1-8 master note whole", "1-8 master note whole"),
        (
            '1-8 take 2/sat of "the album"/"other guitar"',
            '1-8 take 2/sat of "the album"/"other guitar"',
        ),
        ("1-8 bounce of /bass", "1-8 bounce of /bass"),
        ('1-8 file "a b.wav" of album xfade 5ms', '1-8 file "a b.wav" of album xfade 5ms'),
    ],
)
def test_shorter_forms_are_written_back_in_full(short: str, full: str) -> None:
    assert str(parse_piece(short)) == full
    assert parse_piece(full) == parse_piece(short)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("", "empty"),
        ("1-8", "does not say which take"),
        ("1-8 5", "does not say which take"),
        ("1-8 take x", "does not say which take"),
        ("1-8 take 0", "not a take"),
        ("8-1 take 2", "ends before"),
        ("one-8 take 2", '"one" is not a bar'),
        ("1-8 take 2 @", '"@" in'),
        ("1-8 take 2 @ 9-", "a bar is missing"),
        ("1-8 take 2 xfade 10", '"xfade 10" in'),
        ("1-8 take 2 xfade 1.2.3ms", "length of a crossfade"),
        ("1-8 take 2 xfade 1/0ms", "length of a crossfade"),
        ("1-8 take 2 warmer", '"warmer" in'),
        ("1-8 take 2 note", '"note" in'),
        ("1.3 take 2", "one point"),
        ("1-8 mix of", '"of" in'),
        ("1-8 mixed of album", "does not say which take"),
    ],
)
def test_what_cannot_be_read_is_named(line: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        parse_piece(line)


def test_the_line_is_named() -> None:
    with pytest.raises(LogbookError, match="comp line 3: "):
        parse_comp("1-8 take 2\n\n9-16 tkae 2")
    assert len(parse_comp("1-8 take 2\n\n9-16 take 2\n")) == 2
