"""Comp pieces pinned to the session of their take, before another session has one of its number.

A piece that says `take 1` means the only take 1 there is. When a second session gets a take 1
too, what the older comp meant is written down first, so that it still means the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from logbook.store.models.takes import CompPieceRow, CompRow, TakeRow

if TYPE_CHECKING:
    from logbook.store.changing import Change


def pin_pieces(change: Change, part_id: int, number: int, session_id: int | None) -> None:
    """Write a take's session into the pieces that draw on it, where its number gets shared.

    To be called before a take of this number and session is added to the part.
    """
    found = select(TakeRow).where(TakeRow.part_id == part_id, TakeRow.number == number)
    takes = change.session.scalars(found).all()
    if len(takes) != 1 or takes[0].session_id in (None, session_id):
        return
    pieces = (
        select(CompPieceRow)
        .join(CompRow, CompRow.id == CompPieceRow.comp_id)
        .where(
            CompRow.part_id == part_id,
            CompPieceRow.take == number,
            CompPieceRow.session_id.is_(None),
            CompPieceRow.from_part == "",
            CompPieceRow.from_version == "",
            CompPieceRow.from_file == "",
        )
    )
    for piece in change.session.scalars(pieces):
        piece.session_id = takes[0].session_id
    change.session.flush()
