"""Pieces processed until their samples no longer agree: named by their notes, and only then."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.cli.listen_comp import _done
from logbook.listening import Piece, recover_comp
from logbook.listening.noted_pieces import NotedStretch, with_noted
from tests.listening import copying, edits
from tests.listening import material as m

SECONDS = 12
PLAN = (
    m.TruePiece(start=0.0, end=4.0, take=0, source=0.5),
    m.TruePiece(start=4.0, end=8.0, take=1, source=4.637),
    m.TruePiece(start=8.0, end=11.5, take=2, source=8.774),
)


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    return edits.takes_of("pick", 83, seconds=SECONDS)


@pytest.mark.parametrize("given", [(0, 1, 2), (0, 2)])
def test_a_stretched_piece_is_named(
    takes: list[m.Audio], tmp_path: Path, given: tuple[int, ...]
) -> None:
    """The middle piece is read 1 % slower; where its take is missing it stays unknown."""
    bounce = m.blend(takes, PLAN, edits.RATE, fade=0.010)
    rate = edits.RATE
    slow = copying.warped(takes[1][round(4.637 * rate) :], 1.01)[: 4 * rate]
    bounce[4 * rate : 8 * rate] = slow
    paths = [m.save(takes[n], tmp_path / f"t{n}.wav", rate) for n in given]
    pieces = edits.named(recover_comp(m.save(0.7 * bounce, tmp_path / "b.wav", rate), paths), given)
    inside = [p for p in pieces if p.start < 7.7 and p.end > 4.3]
    if given == (0, 2):
        assert [p.take for p in inside] == [None]
        return
    (piece,) = [p for p in inside if p.length > 2.5]
    assert piece.take == 1
    assert piece.by_notes
    assert piece.stretch == pytest.approx(1.01, abs=0.001)
    assert piece.cents == pytest.approx(-1200 * np.log2(1.01), abs=2.0)
    assert piece.source == pytest.approx(4.637 + (piece.start - 4.0) / 1.01, abs=0.005)
    assert all(p.take in {None, 1} for p in inside)


def known(start: float, end: float, take: int | None) -> Piece:
    return Piece(start=start, end=end, source=start, take=take, gain_db=0.0, confidence=1.0)


def test_what_is_certain_stands() -> None:
    pieces = [known(0, 2, None), known(2, 2.2, 0), known(2.2, 4, None), known(4, 6, 1)]
    noted = [NotedStretch(0.5, 4.5, 2, 1.5, 1.0, 0.0, 0.9)]
    found = with_noted(pieces, noted, 1.0)
    assert [(p.start, p.end, p.take) for p in found] == [(0, 0.5, None), (0.5, 4, 2), (4, 6, 1)]
    assert found[1].source == 1.5


@pytest.mark.parametrize(("elsewhere", "take"), [(True, None), (False, 0)])
def test_notes_do_not_outweigh_moments_that_are_certain(elsewhere: bool, take: int | None) -> None:
    """A moment of take 2 stands where others of it do; alone it would be a scrap."""
    pieces = [
        Piece(start=0.0, end=2.0, source=2.774 - 2 * elsewhere, take=1, gain_db=0, confidence=1),
        Piece(start=2.0, end=3.0, source=0.0, take=None, gain_db=0, confidence=0.9),
        Piece(start=3.0, end=3.3, source=3.774, take=1, gain_db=0, confidence=1),
        Piece(start=3.3, end=5.0, source=0.0, take=None, gain_db=0, confidence=0.9),
    ]
    noted = [NotedStretch(2.0, 5.0, 0, 2.511, 1.0, 0.0, 0.43)]
    found = with_noted(pieces, noted, 1.0)
    assert next(each.take for each in found if each.start <= 4.0 < each.end) == take
    assert (1 in {each.take for each in found if each.start >= 2.0}) == elsewhere


@pytest.mark.parametrize("clean", [False, True])
def test_notes_do_not_join_short_pieces_of_a_take_that_fits_well(clean: bool) -> None:
    """Where takes fit well it would be known between them too; else these are scraps of a piece."""
    pieces = [known(n * 0.5, n * 0.5 + 0.5, None if n % 2 else 0) for n in range(8)]
    noted = [NotedStretch(0.5, 4.0, 0, 0.5, 1.0, 0.0, 0.86)]
    found = with_noted(pieces, noted, 1.0, clean=clean)
    assert [p.take for p in found] == ([0, None] * 4 if clean else [0, 0])


def test_what_was_done_is_said() -> None:
    piece = Piece(
        start=0.0,
        end=4.0,
        source=0.5,
        take=0,
        gain_db=0.0,
        confidence=0.9,
        stretch=1.01,
        cents=-17.2,
        by_notes=True,
    )
    assert _done(piece) == ", stretched 1.0 %, tuned 17 cents down, by its notes"
