"""Every page of a book in a real browser: quiet, in bounds, searchable, accessible."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from accessible import Checker
from paper import HOSTILE, WIDTHS, complaints, open_file, wide

# What sticks out to the right, apart from what stands in a box of its own that scrolls.
OUTSIDE = """
const limit = document.documentElement.clientWidth + 0.5;
const scrolls = (e) => {
  for (let at = e; at && at !== document.body; at = at.parentElement) {
    if (getComputedStyle(at).overflowX === "auto") { return true; }
  }
  return false;
};
const sticksOut = (e) => {
  const box = e.getBoundingClientRect();
  return box.width > 0 && box.left >= 0 && box.right > limit && !scrolls(e.parentElement);
};
return [...document.body.querySelectorAll("*")].filter(sticksOut).map(
  (e) => `${e.tagName}.${e.getAttribute("class") || ""}: ${e.textContent.slice(0, 40)}`);
"""
CUT_TEXT = """
return [...document.querySelectorAll("svg text")].filter((t) => {
  const b = t.getBoundingClientRect(), s = t.ownerSVGElement.getBoundingClientRect();
  return b.width > 0 && (b.left < s.left - 1 || b.right > s.right + 1 || b.top < s.top - 1
    || b.bottom > s.bottom + 1); }).map((t) => t.textContent);
"""


def pages(folder: Path) -> list[Path]:
    found = sorted(folder.rglob("*.html"))
    assert len(found) == 1 + 5 * 5 + 1 + 1 + 2 + 5 + 4
    return found


def telling(folder: Path) -> list[Path]:
    """Of each kind of page the one with most on it, and those of a hostile name."""
    kinds: dict[tuple[str, str], list[Path]] = {}
    for page in pages(folder):
        kinds.setdefault((page.parent.name, page.stem.partition("__")[2]), []).append(page)
    largest = {max(found, key=lambda page: page.stat().st_size) for found in kinds.values()}
    hostile = {page for page in pages(folder) if "script" in page.stem}
    assert len(largest) == 11
    assert len(hostile) == 6
    return sorted(largest | hostile)


def test_every_page_opens_without_a_complaint_and_keeps_to_its_width(
    browser: Any, book_folder: Path
) -> None:
    for page in pages(book_folder):
        open_file(browser, page)
        assert complaints(browser) == [], page
        assert browser.title not in ("", "broken")
        for width in WIDTHS:
            wide(browser, width)
            where = f"{page.name} at {width}"
            across = browser.execute_script("return document.documentElement.scrollWidth")
            assert across <= width, where
            assert browser.execute_script(OUTSIDE) == [], where
            assert browser.execute_script(CUT_TEXT) == [], where


def test_the_accessibility_checker_finds_nothing_serious(
    browser: Any, book_folder: Path, checker: Checker
) -> None:
    for page in telling(book_folder):
        open_file(browser, page)
        wide(browser, 768)
        found = checker.page(browser) + checker.colours(browser)
        # By night a page differs in its colours alone.
        wide(browser, 768, dark=True)
        found += checker.colours(browser, dark=True)
        assert [each for each in found if each["impact"] in ("serious", "critical")] == [], page


def test_search_finds_a_song_from_a_file_without_a_network(browser: Any, book_folder: Path) -> None:
    open_file(browser, book_folder / "index.html")
    box = browser.find_element("css selector", "#words")
    shown = 'return [...document.querySelectorAll("li[data-words]")].filter((e) => '
    shown += "e.offsetParent !== null).map((e) => e.querySelector('a').textContent)"
    everything = browser.execute_script(shown)
    assert len(everything) == 5 + 1 + 1 + 2 + 5 + 4
    box.send_keys("LANTÉRN")
    assert browser.execute_script(shown) == ["Lantern on the Slip"]
    assert browser.find_element("css selector", "#told").text == "1 found"
    box.clear()
    box.send_keys("tam g#")
    assert "Low Tide Ledger" in browser.execute_script(shown)
    box.clear()
    box.send_keys("dadgad")
    assert browser.execute_script(shown) == ["Lantern on the Slip"]
    box.send_keys("\n")
    assert browser.title.startswith("Lantern on the Slip")
    assert complaints(browser) == []


def test_what_was_looked_for_is_still_there_after_back(browser: Any, book_folder: Path) -> None:
    open_file(browser, book_folder / "index.html")
    box = browser.find_element("css selector", "#words")
    box.send_keys("buzz on the low string")
    assert browser.find_element("css selector", "#told").text == "1 found"
    box.send_keys("\n")
    assert browser.title.startswith("Rowan Gate")
    browser.back()
    box = browser.find_element("css selector", "#words")
    assert box.get_attribute("value") == "buzz on the low string"
    assert browser.find_element("css selector", "#told").text == "1 found"
    assert complaints(browser) == []


def test_every_link_of_the_book_leads_to_a_page(browser: Any, book_folder: Path) -> None:
    there = {page.resolve().as_uri() for page in pages(book_folder)}
    led_to = set()
    for page in pages(book_folder):
        open_file(browser, page)
        links = browser.execute_script("return [...document.links].map((e) => e.href)")
        for link in links:
            assert link.partition("#")[0] in there, f"{page.name}: {link}"
            led_to.add(link.partition("#")[0])
        targets = browser.execute_script(
            "return [...document.links].filter((e) => e.hash && e.pathname === location.pathname)"
            ".filter((e) => !document.getElementById(e.hash.slice(1))).map((e) => e.hash)"
        )
        assert targets == []
    assert led_to == there


def test_a_hostile_name_is_only_text(browser: Any, book_folder: Path) -> None:
    open_file(browser, book_folder / "index.html")
    link = next(
        each
        for each in browser.find_elements("css selector", "a")
        if each.text.startswith("<script>") and "songs/" in each.get_attribute("href")
    )
    browser.get(link.get_attribute("href"))
    assert browser.find_element("css selector", "h1 span").text == HOSTILE
    assert browser.execute_script("return document.scripts.length") == 0
    assert "broken" not in browser.title.partition("'")[0]


def test_the_sheet_can_be_walked_with_the_keyboard(browser: Any, book_folder: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    open_file(browser, book_folder / "songs" / "low-tide-ledger.html")
    wide(browser, 360)
    body = browser.find_element("css selector", "body")
    body.send_keys(Keys.TAB)
    focused = "return [document.activeElement.textContent, document.activeElement.className]"
    assert browser.execute_script(focused) == ["Skip to the sheet", "skip"]
    at = browser.execute_script("return document.activeElement.getBoundingClientRect().left")
    assert at >= 0, "a focused link can be seen"
    browser.switch_to.active_element.send_keys(Keys.TAB)
    assert browser.execute_script(focused)[0] == "All songs"
