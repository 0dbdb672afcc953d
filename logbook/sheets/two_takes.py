"""Two takes of a part set side by side: length, tempo, punch-ins and use, and what differs."""

from __future__ import annotations

from typing import NamedTuple

from logbook.editing.side_by_side import side_by_side, side_by_side_rows
from logbook.editing.takes import TakeId, take_of
from logbook.editing.words import take_said
from logbook.errors import LogbookError
from logbook.records.part_view import PartView
from logbook.sheets.blocks import Heading, Table
from logbook.sheets.looks import Sheet, Wanted


class AskedTakes(NamedTuple):
    """The part, and which two of its takes."""

    place: PartView
    first: TakeId
    second: TakeId


def build(subject: AskedTakes, wanted: Wanted) -> Sheet:
    """Return the comparison, ready to be drawn. Raises LogbookError where a take is not there."""
    del wanted
    head, *body = compared(*subject)
    head = ("what", head[1], head[2], "difference")
    data = [dict(zip(head, row, strict=True)) for row in body]
    title = subject.place.title
    return Sheet(
        "two takes",
        title,
        data,
        (Heading(2, title, quiet=True), Table(head, tuple(body))),
        (head, *body),
    )


def compared(place: PartView, first: TakeId, second: TakeId) -> list[tuple[str, str, str, str]]:
    """Return two takes set side by side, as rows. Raises LogbookError where one is not there."""
    takes = place.takes
    found = []
    for wanted in (first, second):
        take = take_of(takes, wanted)
        if take is None:
            known = ", ".join(take_said(each.id, takes) for each in takes)
            raise LogbookError(
                f"{place.title} has no take {wanted}",
                f"its takes are {known}" if known else "no take of it is logged yet",
            )
        found.append(take)
    return side_by_side_rows(*side_by_side(found[0], found[1], place.bars, place.survey), takes)
