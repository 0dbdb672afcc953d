"""What was recovered held against what was done."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from logbook.listening import Piece
from tests.listening.material import TruePiece

SAME_SECONDS = 1e-4


def merged(plan: Sequence[TruePiece]) -> list[TruePiece]:
    """The plan with neighbours that go on in the same take made one."""
    out: list[TruePiece] = []
    for piece in plan:
        if out and out[-1].take == piece.take:
            old = out[-1]
            if piece.take is None or abs(lag(old) - lag(piece)) < SAME_SECONDS:
                out[-1] = TruePiece(
                    start=old.start,
                    end=piece.end,
                    take=old.take,
                    source=old.source,
                    gain_db=old.gain_db,
                )
                continue
        out.append(piece)
    return out


def lag(piece: TruePiece | Piece) -> float:
    """Seconds from a time in the bounce to the time in the take."""
    return piece.source - piece.start


def assert_recovered(
    pieces: Sequence[Piece],
    plan: Sequence[TruePiece],
    *,
    edge_s: float = 0.015,
    lag_s: float = 0.6 / 22_050,
) -> None:
    """Same takes, joins within `edge_s` of the middle of the crossfade, lags within `lag_s`.

    The cutting rounds each start and source to a sample, so a lag is right to within one; at
    worst half a sample of that is rounding.
    """
    wanted = merged(plan)
    assert [piece.take for piece in pieces] == [piece.take for piece in wanted]
    assert pieces[0].start == 0.0
    for before, after in itertools.pairwise(pieces):
        assert before.end == after.start
    for piece, want in zip(pieces[1:], wanted[1:], strict=True):
        assert abs(piece.start - want.start) <= edge_s
    for piece, want in zip(pieces, wanted, strict=True):
        if want.take is not None:
            assert abs(lag(piece) - lag(want)) <= lag_s + 0.5 / 22_050
