"""A set for the stage: what is read from the floor, and what comes next."""

from __future__ import annotations

import re
from pathlib import Path

from logbook.arranging.setlist import set_sheet
from logbook.notebook.read import read_log
from logbook.sheets.blocks import StageSongs
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Sheet
from logbook.sheets.set_lists import AskedSet

SAMPLE = Path(__file__).parents[2] / "sample_session"
LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))


def stage() -> Sheet:
    return make_sheet("stage", AskedSet(set_sheet(LOG, LOG.setlists[0])))


def test_each_song_says_what_is_set_and_what_is_changed_for_the_next() -> None:
    (block,) = [each for each in stage().blocks if isinstance(each, StageSongs)]
    first, *_, last = block.songs
    assert first[:5] == ("1", "Lantern on the Slip", "G major", "♩.=63", ("Ina: capo 5, DADGAD",))
    assert first.then == "next: Low Tide Ledger"
    assert first.changes == ("Ina: retune DADGAD to standard, 3 strings", "Ina: capo off")
    assert (last.title, last.then, last.changes) == ("Rowan Gate", "", ())
    assert block.songs[2].tempo == "♩=120, from bar 7 ♩=104"


def test_titles_are_as_large_as_can_be_read_from_the_floor() -> None:
    page = draw_sheet(stage(), "html", Look())
    assert isinstance(page, str)
    sizes = re.findall(r"\.on-stage \.title \{ font: 700 (\d+)pt", page)
    assert [int(size) >= 40 for size in sizes] == [True]
    for title in ("Lantern on the Slip", "Varnish"):
        assert re.search(rf'<p class="title"><span class="nr">\d</span> {title}</p>', page)


def test_the_change_stands_under_the_song_it_follows() -> None:
    text = draw_sheet(stage(), "text", Look())
    assert isinstance(text, str)
    assert text.index("next: Low Tide Ledger") < text.index("retune DADGAD") < text.index("2. LOW")


def test_a_spreadsheet_says_the_next_song_too() -> None:
    head, first, *_ = stage().rows
    row = dict(zip(head, first, strict=True))
    assert (row["next"], str(row["change for it"])[:11]) == ("next: Low Tide Ledger", "Ina: retune")
