"""What paper gets: how many pages, how large the letters are, and what stands on every page.

The pages are those of the PDF, read back with poppler.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from logbook.notebook.read import read_log
from logbook.records import (
    Comp,
    CompPiece,
    FormSection,
    Log,
    Part,
    Song,
    Take,
    TempoChange,
    Version,
)
from logbook.records.part_view import PartView
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.strips import Strip, strip_of
from logbook.sheets.svg_strip import strip_svg
from tests.sheets.drawing import lines_of

SAMPLE = Path(__file__).parents[2] / "sample_session"
LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
TITLE = "Low Tide Ledger"


@pytest.fixture
def poppler() -> None:
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed")
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")


def pdf_of(kind: str, folder: Path, paper: str = "A4", part: str = "guitar") -> Path:
    file = folder / f"{kind}.pdf"
    file.write_bytes(_drawn(kind, paper, part))
    return file


@cache
def _drawn(kind: str, paper: str, part: str) -> bytes:
    made = draw_sheet(make_sheet(kind, LOG, Wanted(TITLE, part=part)), "pdf", Look(paper=paper))
    assert isinstance(made, bytes)
    return made


def asked(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize(
    ("kind", "most", "paper"),
    [
        ("player", 2, "A4"),
        ("lesson", 4, "A4"),
        ("live", 1, "A4"),
        ("chart", 1, "A4"),
        ("player", 3, "letter"),
    ],
)
def test_a_sheet_fits_its_pages(kind: str, most: int, paper: str, tmp_path: Path) -> None:
    file = pdf_of(kind, tmp_path, paper)
    pages = asked("pdftotext", "-layout", str(file), "-").split("\f")[:-1]
    assert len(pages) <= most
    for number, page in enumerate(pages, start=1):
        assert re.search(rf"{number} */ *{len(pages)}", page)
        assert f"{TITLE}, guitar" in page
    facts = asked("pdfinfo", str(file))
    assert re.search(r"Tagged: +yes", facts)
    size = {"A4": "595", "letter": "612"}[paper]
    assert re.search(rf"Page size: +{size}", facts)


@pytest.mark.usefixtures("poppler")
def test_the_foot_of_a_page_names_the_part_that_is_on_it(tmp_path: Path) -> None:
    # All parts at once, more facts than a page holds: the drawing has to come to an end, too.
    file = pdf_of("player", tmp_path, part="")
    pages = asked("pdftotext", "-layout", str(file), "-").split("\f")[:-1]
    named = [re.findall(rf"{TITLE}, (\w+) +\d", page)[-1] for page in pages]
    assert list(dict.fromkeys(named)) == ["guitar", "bass", "voice"]
    assert len(named) <= 6


@pytest.mark.usefixtures("poppler")
def test_nothing_on_a_live_sheet_is_below_eight_points(tmp_path: Path) -> None:
    file = pdf_of("live", tmp_path)
    found = asked("pdftohtml", "-xml", "-i", "-stdout", str(file))
    sizes = [int(size) for size in re.findall(r'<fontspec id="\d+" size="(-?\d+)"', found)]
    assert min(sizes) >= 12  # the reader shows a page half as large again, in whole units


@pytest.mark.usefixtures("poppler")
def test_the_chart_stands_first_and_the_facts_last(tmp_path: Path) -> None:
    text = asked("pdftotext", "-layout", str(pdf_of("player", tmp_path)), "-")
    places = [text.index(word) for word in ("intro", "Picking hand", "How it was taped", "ISRC")
              if word in text]  # fmt: skip
    assert places == sorted(places)
    assert text.index("Dadd9") < text.index("How it was taped") < text.index("The version EP")


# The comp to scale


def place(pieces: tuple[CompPiece, ...], takes: tuple[Take, ...], bars: int) -> PartView:
    part = Part(name="guitar", takes=takes, comps=(Comp(pieces=pieces),))
    form = (FormSection(name="all", start=1, bars=bars),)
    version = Version(
        name="demo", form=form, tempos=(TempoChange(bar=1, bpm=120.0),), parts=(part,)
    )
    song = Song(title="Cartwheel", versions=(version,))
    return PartView(Log(songs=(song,)), song, version, part)


def strip(where: PartView) -> Strip:
    assert where.survey is not None
    return strip_of(where, where.survey)


def test_a_strip_is_to_scale_and_runs_are_merged() -> None:
    pieces = (
        CompPiece(bars="1-4", take=1, source="1-4"),
        CompPiece(bars="5-6", take=1, source="5-6"),
        CompPiece(bars="7-8", take=2, source="3-4", crossfade_ms=1000),
    )
    takes = (Take(number=1, bars="1-8", result="complete"), Take(number=2, bars="1-8"))
    found = strip(place(pieces, takes, 8))
    assert [(run.at, run.take, run.source, run.moved) for run in found.runs] == [
        ((0.0, 6.0), "1", "1-6", False),
        ((6.0, 8.0), "2", "3-4", True),
    ]
    assert found.runs[1].fade == pytest.approx(0.5)  # a second of a bar of two seconds
    assert found.length == 8
    assert [take.used for take in found.takes] == [((0.0, 6.0),), ((2.0, 4.0),)]
    picture = strip_svg(found, 500)
    assert picture.count('class="run"') == 2
    assert picture.count('class="fade"') == 1
    assert picture.count('class="ghost"') == 2
    assert "3–4" in picture


def test_forty_pieces_are_forty_boxes_side_by_side() -> None:
    pieces = tuple(
        CompPiece(bars=str(bar), take=bar % 3 + 1, source=str(bar)) for bar in range(1, 41)
    )
    takes = tuple(Take(number=number, bars="1-40") for number in (1, 2, 3))
    found = strip(place(pieces, takes, 40))
    picture = strip_svg(found, 520)
    boxes = [
        (float(x), float(wide))
        for x, wide in re.findall(r'class="run" x="([\d.]+)"[^>]* width="([\d.]+)"', picture)
    ]
    assert len(boxes) == 40
    for (x, wide), (after, _) in pairwise(boxes):
        assert x + wide == pytest.approx(after, abs=0.2)
    assert boxes[-1][0] + boxes[-1][1] <= 520


def test_takes_that_are_neither_used_nor_good_are_counted() -> None:
    takes = tuple(
        Take(number=number, bars="1-4", result="false start" if number > 2 else "complete")
        for number in range(1, 61)
    )
    where = place((CompPiece(bars="1-4", take=2, source="1-4"),), takes, 4)
    found = strip(where)
    assert [take.name for take in found.takes] == ["1", "2"]
    assert found.left_out == 58
    log = where.log
    drawn = draw_sheet(make_sheet("player", log, Wanted("Cartwheel")), "text", Look())
    assert "And 58 more takes, not used: 58 false start." in drawn
    fine = tuple(replace(take, result="complete") for take in takes)
    best = (*fine[:40], replace(fine[40], result="keeper"), *fine[41:])
    said = (*best[:50], replace(best[50], notes="the quiet one"), *best[51:])
    log = place((CompPiece(bars="1-4", take=2, source="1-4"),), said, 4).log
    many = str(draw_sheet(make_sheet("player", log, Wanted("Cartwheel")), "text", Look()))
    table = many.partition("take  session")[2].partition("And 57 more takes")[0]
    assert [line.split()[0] for line in table.splitlines() if line[:1].isdigit()] == [
        "2", "41", "51",
    ]  # fmt: skip
    assert "false start  1-4" not in drawn


# Tablature


def test_single_notes_are_tablature_and_no_diagrams() -> None:
    sheet = make_sheet("player", LOG, Wanted(TITLE, part="bass"))
    text = str(draw_sheet(sheet, "text", Look()))
    chorus = text[text.index("chorus, bars 7–10", text.index("Tablature")) :].splitlines()[1:5]
    assert chorus == [
        "G|-------------|-------------|-------------|-------------|",
        "D|-------------|-------------|-------------|-------------|",
        "A|-5-----------|-------------|-5-----------|-------------|",
        "E|-------0-----|-5-----------|-------0-----|-2-----------|",
    ]
    assert "nut" not in text.partition("How it was taped")[0].replace("from the nut", "")
    page = str(draw_sheet(sheet, "html", Look()))
    assert page.count("<pre") == 4


COLONS = """
[[song]]
title = "Opener: Dusk"
[[song.version]]
name = "album"
meter = ["1 5/4", "2 7/8"]
key = "G"
form = ["A 1-3"]
[[song.version.part]]
name = "bass: low"
tuning = "E1 A1 D2 G2"
voicings = { G = "3 x x x", A = "5 x x x" }
chart = ["1: G . . . A | 1:G 3:A | G"]
[[song.version.part]]
name = "bass"
tuning = "E1 A1 D2 G2"
voicings = { G = "3 x x x" }
chart = ["1: G | G | G"]
[[song.version.arrangement]]
name = "pub"
key = "A"
[[setlist]]
name = "one"
songs = ["Opener: Dusk / album", "closer: Opener: Dusk / album / pub"]
"""


def test_an_eighth_is_half_as_wide_as_a_quarter_in_tablature() -> None:
    sheet = make_sheet("player", read_log(COLONS), Wanted("Opener: Dusk", part="bass: low"))
    text = str(draw_sheet(sheet, "text", Look())).partition("Tablature")[2]
    quarters, eighths = next(each for each in text.splitlines() if each.startswith("E|"))[2:].split(
        "|"
    )[:2]
    assert quarters.index("5") - quarters.index("3") == 4 * 6
    assert eighths.index("5") - eighths.index("3") == 2 * 3


def test_names_with_colons_are_names() -> None:
    log = read_log(COLONS)
    first, last = log.setlists[0].entries
    assert (first.song, first.place) == (last.song, "") == ("Opener: Dusk", "")
    assert (last.place, last.arrangement) == ("closer", "pub")
    live = make_sheet("live", log, Wanted("Opener: Dusk", part="bass"))
    text = str(draw_sheet(live, "text", Look()))
    assert "voicing G  3 x x x" in text
    assert "bass: low" not in text


# A set for the stage


def test_a_set_for_the_stage_says_what_changes_before_each_song() -> None:
    from logbook.arranging.changeovers import ChangeTimes
    from logbook.arranging.setlist import set_sheet
    from logbook.sheets.set_lists import AskedSet

    (setlist, *_) = LOG.setlists
    made = set_sheet(LOG, setlist, ChangeTimes())
    lines = lines_of("stage", AskedSet(made))
    at = lines.index("   next: Low Tide Ledger")
    assert lines[at + 1 : at + 3] == [
        "   > Ina: retune DADGAD to standard, 3 strings",
        "   > Ina: capo off",
    ]
    assert "2. LOW TIDE LEDGER" in "".join(lines[at + 3 : at + 5])
    page = str(draw_sheet(make_sheet("stage", AskedSet(made)), "html", Look()))
    assert "font: 700 40pt" in page
    assert setlist.name in page


def test_where_the_last_bar_comes_from_stands_on_the_page() -> None:
    pieces = (
        CompPiece(bars="1-79", take=1, source="1-79"),
        CompPiece(bars="80", take=1, source="70-71"),
    )
    svg = strip_svg(strip(place(pieces, (Take(number=1, bars="1-80"),), 80)), 520)
    ((x, said),) = re.findall(r'<text x="([\d.]+)"[^>]*class="source">([^<]+)<', svg)
    # A digit is 0.636 em wide in DejaVu Sans.
    assert float(x) + len(said) * 0.64 * 8 / 2 <= 520
