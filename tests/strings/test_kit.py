"""Drum patterns: rows of the kit read, gone round, swung, and refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.errors import LogbookError
from logbook.strings.kit import is_kit, kit_text, read_kit
from logbook.timing.meter import parse_meter


def test_rows_are_read_by_any_of_their_names() -> None:
    pattern = read_kit("hh: x.x.x.xo | x.x.x.x.; sd ..X...xg; bass drum x..xx...", "1/8")
    assert [row.piece.name for row in pattern.rows] == ["hat", "snare", "kick"]
    assert pattern.length == 2
    snare = [(hit.start, hit.cell) for hit in pattern.hits() if hit.piece.name == "snare"]
    assert snare == [
        (Fraction(n, 8) + bar, cell) for bar in (0, 1) for n, cell in ((2, "X"), (6, "x"), (7, "g"))
    ]


def test_a_swung_grid_is_uneven() -> None:
    pattern = read_kit("ride xxxxxx", "1/8", parse_meter("3/4"), "swing")
    assert [hit.start for hit in pattern.hits()][:3] == [0, Fraction(1, 6), Fraction(1, 4)]


def test_a_line_is_kept_with_its_spacing() -> None:
    assert kit_text("hh: x.x. x.x.;bd  x...x...") == "hat x.x. x.x.; kick x...x..."
    assert is_kit("floor tom x...")
    assert not any(map(is_kit, ["D.DU .UDU", "p i m a m i", "x.x.x.x.", "hat"]))


@pytest.mark.parametrize(
    ("line", "grid", "says"),
    [
        ("hat x.x.", "1/8", "has 4 steps, and a bar of 4/4 has 8"),
        ("hat x.x.q.x.", "1/8", "'q' in the row of the hat is not a stroke"),
        ("kick o.......", "1/8", "has no open stroke"),
        ("hat x.x.x.x.; snair ..x...x.", "1/8", "did you mean snare"),
        ("hat x.x.x.|x.", "1/8", "stands after 6 steps"),
        ("hat " + "x" * 16 + "; kick " + "x" * 24, "1/8", "does not go round"),
    ],
)
def test_what_is_wrong_is_said(line: str, grid: str, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        read_kit(line, grid)
