"""A release as a whole: each part's progress, hours, what is left; every form, and the book."""

from __future__ import annotations

from pathlib import Path

from logbook.notebook.read import read_log
from logbook.sheets.book import plan_book
from logbook.sheets.book_pages import thing_page_text
from logbook.sheets.catalog import FORMS, draw_sheet, make_sheet
from logbook.sheets.looks import Look
from logbook.sheets.releases import AskedRelease, release_tracks

LOG = """
[[person]]
name = "Ada"
[[session]]
name = "day one"
date = "2026-05-02"
hours = ["Ada 10:00-18:30; break 30 min"]
inputs = ["1 kick; mic big dynamic"]
recall = ["desk: flat"]
photographs = ["PHOTO; of desk"]
[[song]]
title = "Gull Weather"
[[song.version]]
name = "album"
isrc = "XX0002600001"
key = "Eb"
tempo = 96
form = ["verse 1-8", "chorus 9-16"]
deliverables = ["master; mix 3; status delivered", "stems; status in work"]
[[song.version.part]]
name = "guitar"
takes = { "day one" = ["1 keeper 1-16", "2 complete 1-16"] }
comp = ["1-8 take 1", "9-16 take 2"]
[[song.version.part]]
name = "drums"
tacet = "verse"
takes = { "day one" = ["1 complete 1-16"] }
comp = ["9-16 take 1"]
[[song.version.part]]
name = "sax"
takes = { "day one" = ["1 complete 1-16"] }
comp = ["1-4 take 1"]
[[song.version.part]]
name = "voice"
[[project]]
title = "Slow Harbour"
artist = "The Marrows"
tracks = ["Gull Weather / album"]
"""


def asked(tmp_path: Path) -> AskedRelease:
    log = read_log(LOG.replace("PHOTO", str(tmp_path / "desk.png")))
    return AskedRelease(log, log.projects[0])


def test_each_part_has_come_as_far_as_its_takes_and_comp_say(tmp_path: Path) -> None:
    (track,) = release_tracks(*asked(tmp_path))
    found = {part.part: (part.state, part.takes, part.keepers, part.gaps) for part in track.parts}
    assert found == {
        "guitar": ("comped", 2, 1, 0),
        "drums": ("comped", 1, 0, 0),  # the verse needs no cover: it is silent there
        "sax": ("taken", 1, 0, 12),
        "voice": ("nothing recorded", 0, 0, 0),
    }
    assert track.states == "2 comped, 1 taken, 1 nothing recorded"


def test_every_form_says_it(tmp_path: Path) -> None:
    sheet = make_sheet("release", asked(tmp_path))
    text = str(draw_sheet(sheet, "text", Look()))
    assert "1 Gull" in text
    assert "All hours together: 8 h." in text
    assert "taken, 12 bars open" in text
    assert "- Gull Weather: no keeper and no comp of sax, voice" in text
    assert "- Gull Weather: to be delivered: stems" in text
    for form in FORMS:
        if form != "pdf":
            assert draw_sheet(sheet, form, Look())
    assert "sax,,1,0,taken,12" in str(draw_sheet(sheet, "csv", Look()))


def test_the_book_shows_the_release_and_the_paper_work(tmp_path: Path) -> None:
    (tmp_path / "desk.png").write_bytes(b"\x89PNG\r\n\x1a\n" + b"x" * 20)
    things = {page.title: page for page in plan_book(asked(tmp_path).log).things}
    release = thing_page_text(things["Slow Harbour"])
    assert "taken, 12 bars open" in release
    assert release.count("The Marrows") == 1
    day = thing_page_text(things["day one"])
    for said in ("big dynamic", "flat", "8 h", "data:image/png;base64,"):
        assert said in day
