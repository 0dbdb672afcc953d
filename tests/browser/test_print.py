"""Pages printed by the browser on A4 and Letter: the pages they should make, no diagram cut."""

from __future__ import annotations

import base64
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from logbook.records import Voicing

sys.path.insert(0, str(Path(__file__).parent))
from paper import SAMPLE_LOG, open_file, several_voicings, sheet_file

# Inches: ISO 216 gives A4 as 210 x 297 mm; Letter is 8 1/2 x 11 in (ANSI A).
PAPER = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11.0)}
SONG = "Low Tide Ledger"


def printed(browser: Any, page: Path, paper: str, folder: Path) -> list[str]:
    """Print a page and return the text of each sheet of paper."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    open_file(browser, page)
    across, down = PAPER[paper]
    made = browser.execute_cdp_cmd(
        "Page.printToPDF",
        {"paperWidth": across, "paperHeight": down, "preferCSSPageSize": False},
    )
    pdf = folder / "printed.pdf"
    pdf.write_bytes(base64.b64decode(made["data"]))
    return read_pdf(pdf)


def read_pdf(pdf: Path) -> list[str]:
    read = subprocess.run(
        ["pdftotext", "-layout", str(pdf), "-"], check=True, capture_output=True, text=True
    )
    return read.stdout.split("\f")[:-1]


def many_diagrams(count: int = 40) -> Any:
    """So many voicings, each with a name that stands nowhere else on the page."""
    voicings = tuple(
        Voicing(label=f"Nr{number:02d}", frets=f"x {number % 9 + 3} {number % 9 + 2} 0 1 0")
        for number in range(count)
    )
    return several_voicings(voicings, tuning="standard")


@pytest.mark.parametrize("paper", PAPER)
def test_no_diagram_is_split_over_pages(paper: str, browser: Any, tmp_path: Path) -> None:
    page = sheet_file(tmp_path, many_diagrams(), "Cartwheel", "player")
    pages = printed(browser, page, paper, tmp_path)
    # A card begins with its name; its table of strings stands below the diagram.
    counts = [(text.count("“Nr"), text.count("string ")) for text in pages]
    assert sum(names for names, _ in counts) == 40
    # The table of open strings at the end is one more that begins so.
    assert all(rows - names in (0, 1) for names, rows in counts), counts
    assert sum(names > 0 for names, _ in counts) >= 3


@pytest.mark.parametrize("paper", PAPER)
def test_every_player_has_a_page_to_take_on_stage(paper: str, browser: Any, tmp_path: Path) -> None:
    pages = printed(browser, sheet_file(tmp_path, SAMPLE_LOG, SONG, "live"), paper, tmp_path)
    assert len(pages) == 3 if paper == "A4" else len(pages) <= 4
    assert "1 bar: 1 2 3 4" in pages[0]
    pages = [next(page for page in pages if page.lstrip().startswith(name))
             for name in (SONG, "bass", "voice")]  # fmt: skip
    for page, words in (
        (pages[0], ("guitar", "Dsus4", "sparse")),
        (pages[1], ("bass", "roots")),
        (pages[2], ("voice", "No chart")),
    ):
        for word in words:
            assert word in page


@pytest.mark.parametrize("paper", PAPER)
def test_the_credits_fit_one_page(paper: str, browser: Any, tmp_path: Path) -> None:
    pages = printed(browser, sheet_file(tmp_path, SAMPLE_LOG, SONG, "credits"), paper, tmp_path)
    assert len(pages) == 1
    assert "not a contract" in pages[0]


@pytest.mark.parametrize("paper", PAPER)
def test_a_lesson_keeps_each_chord_together(paper: str, browser: Any, tmp_path: Path) -> None:
    pages = printed(browser, sheet_file(tmp_path, SAMPLE_LOG, SONG, "lesson"), paper, tmp_path)
    chords = ("1. A", "2. Dadd9", "3. E/G♯", "4. F♯m7", "5. Esus4")
    for name in chords:
        (page,) = (text for text in pages if f"{name} shape" in text)
        after = page[page.index(f"{name} shape") :]
        assert "pick" in after
        assert "degree" in after


def test_the_links_on_top_stay_off_the_paper(
    browser: Any, tmp_path: Path, book_folder: Path
) -> None:
    (first, *_) = printed(browser, book_folder / "songs" / "low-tide-ledger.html", "A4", tmp_path)
    assert "All songs" not in first
    assert first.lstrip().startswith(SONG)


def test_the_pdf_form_has_the_same_pages(tmp_path: Path) -> None:
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed")
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    from logbook.sheets.catalog import draw_sheet, make_sheet
    from logbook.sheets.looks import Look, Wanted

    log = many_diagrams(16)  # a page and a part of the next
    made = draw_sheet(make_sheet("player", log, Wanted("Cartwheel")), "pdf", Look())
    assert isinstance(made, bytes)
    assert made.startswith(b"%PDF-")
    pdf = tmp_path / "made.pdf"
    pdf.write_bytes(made)
    counts = [(text.count("“Nr"), text.count("string ")) for text in read_pdf(pdf)]
    assert sum(names for names, _ in counts) == 16
    assert sum(names > 0 for names, _ in counts) >= 2
    # The table of open strings at the end is one more that begins so.
    assert all(rows - names in (0, 1) for names, rows in counts), counts
