"""One view of a part, and that everything that is printed of a part agrees with it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from logbook.checking import check_song
from logbook.editing.surveyed import TakeShare
from logbook.editing.takes import TakeId
from logbook.editing.words import share_said
from logbook.errors import LogbookError
from logbook.listening.part import meant_comp
from logbook.notebook.read import read_log
from logbook.records import Comp, CompPiece, Double, Log, Part, Take
from logbook.records.part_view import PartView, chosen_comp, places
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.comps import comp_sheet
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.takes import part_takes
from logbook.sheets.two_takes import compared

SAMPLE = Path(__file__).parents[2] / "sample_session"
LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
TITLE = "Low Tide Ledger"


def with_part(part: Part, *more: Part) -> PartView:
    """The sample's first song with its guitar part exchanged, and parts added to the version."""
    place = next(p for p in places(LOG) if p.title == f"{TITLE}, EP, guitar")
    version = replace(
        place.version,
        parts=(*(part if p is place.part else p for p in place.version.parts), *more),
    )
    song = replace(place.song, versions=(version,))
    log = replace(LOG, songs=tuple(song if s is place.song else s for s in LOG.songs))
    return PartView(log, song, version, part)


def guitar() -> Part:
    return next(p for p in places(LOG) if p.title == f"{TITLE}, EP, guitar").part


def drawn(log: Log, kind: str = "player") -> str:
    text = draw_sheet(make_sheet(kind, log, Wanted(TITLE, "EP", "guitar")), "text", Look(200))
    assert isinstance(text, str)
    return text


def test_three_doubles_are_told_alike_wherever_the_part_is_told() -> None:
    names = ("left guitar", "right guitar", "middle guitar")
    pans = ("left", "right", "centre")
    place = with_part(
        replace(
            guitar(),
            doubled="doubled",
            doubles=tuple(Double(part=n, pan=p) for n, p in zip(names, pans, strict=True)),
        ),
        *(Part(name=n, takes=(Take(number=1, result="keeper"),)) for n in names),
    )
    said = (
        "doubled by the left guitar, the right guitar and the middle guitar, "
        "panned left, right and centre"
    )
    assert said in comp_sheet(place).told
    assert said in drawn(place.log)
    assert not [each for each in check_song(place.log, place.song) if each.rule == "doubling"]
    others = [view for view in places(place.log) if view.part.name in names]
    assert [view.doubles for view in others] == [("guitar",)] * 3


def test_a_double_among_several_that_is_no_part_is_found() -> None:
    doubles = (Double(part="second guitar"), Double(part="nobody's"))
    place = with_part(
        replace(guitar(), doubled="doubled", doubles=doubles),
        Part(name="second guitar", takes=(Take(number=1, result="keeper"),)),
    )
    found = [each.what for each in check_song(place.log, place.song) if each.rule == "doubling"]
    assert found == ["guitar is said to be doubled by nobody's, but there is no such part"]


@pytest.mark.parametrize("final", [True, False])
def test_the_only_comp_counts_and_every_share_of_it_is_the_same(final: bool) -> None:
    part = guitar()
    place = with_part(replace(part, comps=(replace(part.comps[0], final=final),)))
    # Take 3: bars 1-2; take 2: 3-6 and 11-12; take 4: 7-8 and again at 9-10.
    said = {2: "6 bars, 50 %", 3: "2 bars, 16.7 %", 4: "4 bars, 33.3 %"}
    shares = comp_sheet(place).shares
    assert shares == tuple(f"take {number}: {text}" for number, text in said.items())
    lines = {line.number: line for line in part_takes(place).takes}
    assert {n: lines[n].share for n in said} == {2: "1/2", 3: "1/6", 4: "1/3"}
    assert lines[2].used_at
    sheet = drawn(place.log)
    assert all(text in sheet for text in said.values())
    rows = compared(place, TakeId(2), TakeId(3))
    assert any("(6 bars, 50 %)" in row[1] and "(2 bars, 16.7 %)" in row[2] for row in rows)
    assert ("not marked as final" in sheet) is not final
    assert meant_comp(place, "") == (place.part.comps[0].name, place.part.comps[0])


def test_among_several_comps_none_counts_until_one_is_final() -> None:
    pieces = (CompPiece(bars="1-4", take=2, source="1-4"),)
    two = (Comp(name="first", final=False, pieces=pieces), Comp(name="second", final=False))
    place = with_part(replace(guitar(), comps=two))
    assert place.comp is None
    assert place.survey is None
    assert place.is_undecided
    assert all(line.share == "" for line in part_takes(place).takes)
    assert "None of the comps is marked as final: first and second." in drawn(place.log)
    with pytest.raises(LogbookError, match=r"no comp of .* is the final one"):
        chosen_comp(place)
    with pytest.raises(LogbookError, match=r"no comp of .* is the final one"):
        meant_comp(place, "")
    assert chosen_comp(place, "sec") is two[1]


def test_answers_are_worked_out_once() -> None:
    view = with_part(guitar())
    assert view.survey is view.survey
    assert view.bars is view.bars
    assert view.tuning is view.tuning


def test_what_cannot_be_read_spoils_only_the_answers_that_need_it() -> None:
    view = with_part(replace(guitar(), capo="behind the nut", doubled="perhaps"))
    with pytest.raises(LogbookError):
        _ = view.capos
    with pytest.raises(LogbookError):
        _ = view.doubling
    assert view.survey is not None
    assert view.tuning is not None


@pytest.mark.parametrize(
    ("bars", "share", "said"),
    [
        (Fraction(8), Fraction(1, 2), "8 bars, 50 %"),
        (Fraction(1), Fraction(1, 3), "1 bar, 33.3 %"),
        (Fraction(1, 2), Fraction(1, 100), "1/2 bar, 1 %"),
        (Fraction(32, 3), Fraction(1), "10 2/3 bars, 100 %"),
    ],
)
def test_a_share_is_said_in_bars_and_percent(bars: Fraction, share: Fraction, said: str) -> None:
    assert share_said(TakeShare(TakeId(1), bars, share)) == said
