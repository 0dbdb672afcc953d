"""Comp pieces that take bars from another version whose form changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.records import Comp, CompPiece, FormSection, Part, Version
from logbook.records.form_edits import Edited, delete_bars, insert_bars, move_section
from logbook.records.form_pieces import drawn_along

ALBUM = Version(
    name="album",
    form=(FormSection(name="A", start=1, bars=8), FormSection(name="B", start=9, bars=8)),
)


def drawing(bars: str, source: str, version: str = "Album") -> Part:
    piece = CompPiece(
        bars=bars, take=1, source=source, from_version=version, crossfade_ms=10.0, notes="warm"
    )
    return Part(name="guitar", comps=(Comp(pieces=(piece,)),))


@pytest.mark.parametrize(
    ("edited", "bars", "source", "wanted", "told"),
    [
        (insert_bars(ALBUM, 5, 2), "1-4", "9-12", [("1-4", "11-14")], 0),
        (insert_bars(ALBUM, 5, 2), "1-4", "1-4", [("1-4", "1-4")], 0),
        # New bars inside what was taken: it is parted there, and sounds as it did.
        (insert_bars(ALBUM, 5, 2), "1-8", "1-8", [("1-4", "1-4"), ("5-8", "7-10")], 0),
        (move_section(ALBUM, 9, 1), "21-24", "7-10", [("21-22", "15-16"), ("23-24", "1-2")], 0),
        (delete_bars(ALBUM, 3, 4), "11-16", "1-6", [("11-12", "1-2"), ("15-16", "3-4")], 1),
        (delete_bars(ALBUM, 3, 4), "11-12", "3-4", [], 1),
        (insert_bars(ALBUM, 5, 2), "1.3-4", "9.3-12", [("1.3-4", "11.3-14")], 0),
    ],
)
def test_the_bars_taken_follow_the_form_they_come_from(
    edited: Edited, bars: str, source: str, wanted: list[tuple[str, str]], told: int
) -> None:
    said: list[str] = []
    part = drawn_along(drawing(bars, source), "radio", "album", edited.place, said)
    (comp,) = part.comps
    assert [(each.bars, each.source or each.bars) for each in comp.pieces] == wanted
    assert [each.crossfade_ms for each in comp.pieces][1:] == [None] * (len(wanted) - 1)
    assert all(each.notes == "warm" for each in comp.pieces)
    assert len(said) == told
    if told:
        assert f"comp of guitar, radio: bars {source} of album, which stand at {bars}" in said[0]


def test_bars_of_other_versions_stay() -> None:
    part = drawing("1-4", "9-12", "demo")
    edited = insert_bars(ALBUM, 5, 2)
    assert drawn_along(part, "radio", "album", edited.place, []) == part


def test_a_version_that_names_itself_is_followed_too() -> None:
    part = drawing("9-12", "1-4", "album")
    edited = insert_bars(replace(ALBUM, parts=(part,)), 1, 2)
    (piece,) = edited.version.parts[0].comps[0].pieces
    assert (piece.bars, piece.source) == ("11-14", "3-6")
