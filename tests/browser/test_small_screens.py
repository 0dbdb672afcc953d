"""Sheets on a phone, at four times their size, in the reader's own colours, and by the keyboard."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from logbook.notebook.read import read_log
from logbook.records import Log

sys.path.insert(0, str(Path(__file__).parent))
from accessible import Checker
from paper import open_file, sheet_file, wide
from test_pages import CUT_TEXT, OUTSIDE

# WCAG 2.2, 1.4.10: at 400 % a page of 1280 pixels has 320 of them and nothing scrolls across.
NARROW = 320
SCROLLS_ACROSS = """
return [...document.body.querySelectorAll("*")].filter((e) => e.scrollWidth > e.clientWidth + 1
  && !["visible", "hidden", "clip"].includes(getComputedStyle(e).overflowX)).map((e) => e.tagName);
"""
NOT_FOR_THE_KEYBOARD = """
return [...document.querySelectorAll("[tabindex]")].filter((e) => e.tabIndex >= 0
  && e.scrollWidth <= e.clientWidth && e.scrollHeight <= e.clientHeight).map((e) => e.outerHTML);
"""
TITLE = "Où l’étang s’éteint: a ballad of the herring weir, the third reckoning of it"
ODD = f"""
people = ["Éloïse Brânză-Öst"]

[[instrument]]
name = "the twelve"
kind = "12-string guitar"
strings = 12

[[instrument]]
name = "low one"
kind = "bass"
tuning = "bass"

[[session]]
name = "day one"
date = "2026-05-02"

[[song]]
title = "{TITLE}"

[[song.version]]
name = "album"
key = "Db"
meter = "7/8"
tempo = "e=190"
pickup = "3"
form = ["verse 8 bars", "refrain 8 bars", "verse 8 bars"]

[[song.version.part]]
name = "twelve"
player = "Éloïse"
instrument = "the twelve"
tuning = "12-string"
capo = "1"
counted = "capo"
takes."day one" = ["1 keeper 1-24; punch 3 late", "2 complete 1-24", "3 reject 1-4"]
comp = ["1-4 take 1", "5-8 take 2 xfade 10ms", "9-12 take 1 @ 1-4", "13-24 take 2"]
chart = ["0: 5:Db", "1: Db | Gbmaj7 . Ab . . . . | Bbm7 | Ab", "9: Gbmaj7 | Ab", "17: Db"]

[song.version.part.voicings]
Db = "x 3 2 0 1 0"
Gbmaj7 = "1 x 2 2 1 x"
Ab = "3 2 0 0 0 3"
Bbm7 = "x 0 2 0 1 0"

[[song.version.part]]
name = "bass"
player = "Éloïse"
instrument = "low one"
chart = ["1: Db . Gb . . . . | Ab", "9: Gb | Ab"]

[song.version.part.voicings]
Db = "x 4 x x"
Gb = "2 x x x"
Ab = "4 x x x"
"""


@pytest.fixture(scope="module")
def odd() -> Log:
    """A song that is hard on a page: long words, odd bars, twelve strings, a comp."""
    return read_log(ODD)


@pytest.fixture(scope="module")
def sheets(odd: Log, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    found = []
    for kind in ("player", "lesson", "live"):
        found.append(sheet_file(tmp_path_factory.mktemp(kind), odd, TITLE, kind))
    return found


def test_nothing_scrolls_across_at_four_times_the_size(sheets: list[Path], browser: Any) -> None:
    for page in sheets:
        open_file(browser, page)
        wide(browser, NARROW, 256)
        across = browser.execute_script("return document.documentElement.scrollWidth")
        assert across <= NARROW, page
        assert browser.execute_script(OUTSIDE) == [], page
        assert browser.execute_script(CUT_TEXT) == [], page
        assert browser.execute_script(SCROLLS_ACROSS) == [], page


@pytest.mark.parametrize("width", [NARROW, 1280])
def test_only_what_can_be_used_takes_a_tab_stop(
    width: int, sheets: list[Path], browser: Any
) -> None:
    for page in sheets:
        open_file(browser, page)
        wide(browser, width)
        assert browser.execute_script(NOT_FOR_THE_KEYBOARD) == [], page


@pytest.mark.parametrize("width", [NARROW, 1280])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_the_accessibility_checker_finds_nothing(
    width: int, dark: bool, sheets: list[Path], browser: Any, checker: Checker
) -> None:
    for page in sheets:
        open_file(browser, page)
        wide(browser, width, dark=dark)
        found = [] if dark else checker.page(browser)
        assert found + checker.colours(browser, dark=dark) == [], page


def test_pictures_are_seen_in_the_readers_own_colours(sheets: list[Path], browser: Any) -> None:
    features = [
        {"name": "forced-colors", "value": "active"},
        {"name": "prefers-color-scheme", "value": "dark"},
    ]
    for page in sheets:
        open_file(browser, page)
        wide(browser, 1280)
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
        colours = browser.execute_script(
            "const probe = document.createElement('p'); document.body.append(probe);"
            "probe.style.cssText = 'forced-color-adjust: none; color: CanvasText';"
            "const ink = getComputedStyle(probe).color;"
            "return [...document.querySelectorAll('svg')].filter((e) => e.checkVisibility())"
            ".map((e) => [getComputedStyle(e).color, ink]);"
        )
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
        assert colours, page
        assert all(drawn == ink for drawn, ink in colours), page
