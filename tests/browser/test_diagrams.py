"""Diagrams read from the page a browser made, against frets worked out by hand.

Every expectation is what a player would put down on paper: which strings there are, which are
fretted where from the nut, which sound open, which are left out, where the capo sits.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from paper import one_voicing, open_file, sheet_file, wide


class Case(NamedTuple):
    """A voicing and what stands in its diagram: string number to fret from the nut."""

    frets: str
    strings: int
    dots: dict[int, int]
    open: tuple[int, ...] = ()
    silent: tuple[int, ...] = ()
    may_ring: tuple[int, ...] = ()
    capos: tuple[int, ...] = ()
    first: int = 1
    more: Mapping[str, str] = MappingProxyType({})


CASES = {
    "open C": Case("x 3 2 0 1 0", 6, {5: 3, 4: 2, 2: 1}, open=(3, 1), silent=(6,)),
    "barre F": Case("1 3 3 2 1 1", 6, {6: 1, 5: 3, 4: 3, 3: 2, 2: 1, 1: 1}),
    "capo 2, counted from it": Case(
        "3 2 0 0 0 3",
        6,
        {6: 5, 5: 4, 1: 5},
        open=(4, 3, 2),
        capos=(2,),
        first=3,
        more={"capo": "2", "counted": "capo"},
    ),
    "capo 3, counted from the nut": Case(
        "x x 5 7 8 7", 6, {4: 5, 3: 7, 2: 8, 1: 7}, silent=(6, 5), capos=(3,), first=4,
        more={"capo": "3"},
    ),
    "partial capo": Case(
        "0 x 4 4 3 0", 6, {4: 4, 3: 4, 2: 3}, open=(6, 1), silent=(5,), capos=(2,),
        more={"capo": "2 on strings 3-5"},
    ),
    "two capos": Case(
        "0 0 0 0 5 0", 6, {2: 5}, open=(6, 5, 4, 3, 1), capos=(2, 4),
        more={"capo": "2 + 4 on strings 3-5"},
    ),
    "up the neck": Case(
        "x x 10 9 10 x", 6, {4: 10, 3: 9, 2: 10}, silent=(6, 5, 1), first=9
    ),
    "DADGAD": Case("0 0 2 4 0 0", 6, {4: 2, 3: 4}, open=(6, 5, 2, 1), more={"tuning": "DADGAD"}),
    "a tuning of the log": Case(
        "0 2 0 1 0 0", 6, {5: 2, 3: 1}, open=(6, 4, 2, 1), more={"tuning": "open"}
    ),
    "mandolin": Case("2 0 0 2", 4, {4: 2, 1: 2}, open=(3, 2), more={"tuning": "mandolin"}),
    "ukulele": Case("0 0 0 3", 4, {1: 3}, open=(4, 3, 2), more={"tuning": "ukulele"}),
    "bass": Case("x 5 4 x", 4, {3: 5, 2: 4}, silent=(4, 1), more={"tuning": "bass"}),
    "banjo, its short string open": Case(
        "0 2 0 1 2", 5, {4: 2, 2: 1, 1: 2}, open=(5, 3), more={"tuning": "banjo"}
    ),
    "seven strings": Case(
        "x x 0 2 2 2 0", 7, {4: 2, 3: 2, 2: 2}, open=(5, 1), silent=(7, 6),
        more={"tuning": "seven-string"},
    ),
    "may ring": Case(
        "x 0 2 2 1 (0)", 6, {4: 2, 3: 2, 2: 1}, open=(5,), silent=(6,), may_ring=(1,)
    ),
    "harmonic": Case(
        "x x <12> <12> <12> x", 6, {4: 12, 3: 12, 2: 12}, silent=(6, 5, 1), first=12
    ),
}  # fmt: skip

READ = """
const svg = document.querySelector("svg.chord");
const numbers = (found) => found.map((e) => Number(e.dataset.string));
const marks = (state) => numbers([...svg.querySelectorAll(`.mark[data-state="${state}"]`)]);
return {
  strings: numbers([...svg.querySelectorAll("line.string")]),
  dots: [...svg.querySelectorAll(".dot")].map((e) => [e.dataset.string, e.dataset.fret]),
  open: marks("open"), silent: marks("not played"), may_ring: marks("may ring"),
  capos: [...svg.querySelectorAll(".capo")].map((e) => Number(e.dataset.capo)),
  first: Number(svg.dataset.firstFret),
  nut: svg.querySelectorAll(".nut").length,
  label: svg.getAttribute("aria-label"),
};
"""
PLACES = """
return [...document.querySelectorAll("svg.chord line.string")].map(
  (e) => [Number(e.dataset.string), e.getBoundingClientRect().x]);
"""


@pytest.mark.parametrize("name", CASES)
def test_a_diagram_shows_the_frets_worked_out_by_hand(
    name: str, browser: Any, tmp_path: Path
) -> None:
    case = CASES[name]
    log = one_voicing(case.frets, **case.more)
    open_file(browser, sheet_file(tmp_path, log, "Cartwheel"))
    seen = browser.execute_script(READ)
    assert sorted(seen["strings"]) == list(range(1, case.strings + 1))
    assert {int(string): int(fret) for string, fret in seen["dots"]} == case.dots
    assert len(seen["dots"]) == len(case.dots)
    assert sorted(seen["open"]) == sorted(case.open)
    assert sorted(seen["silent"]) == sorted(case.silent)
    assert sorted(seen["may_ring"]) == sorted(case.may_ring)
    assert sorted(seen["capos"]) == sorted(case.capos)
    assert seen["first"] == case.first
    whole = case.capos and "on strings" not in case.more.get("capo", "")
    assert seen["nut"] == (0 if whole else 1)
    for string, fret in case.dots.items():
        assert (
            f"string {string} {'harmonic at' if 'harm' in name else 'fret'} {fret}"
            in (seen["label"])
        )


@pytest.mark.parametrize("left", [False, True])
def test_dots_stand_on_their_string_and_between_their_frets(
    left: bool, browser: Any, tmp_path: Path
) -> None:
    page = sheet_file(tmp_path, one_voicing("x 3 2 0 1 0"), "Cartwheel", left_handed=left)
    open_file(browser, page)
    wide(browser, 1280)
    at = dict(browser.execute_script(PLACES))
    order = sorted(at, key=at.__getitem__)
    assert order == ([1, 2, 3, 4, 5, 6] if left else [6, 5, 4, 3, 2, 1])
    dots = browser.execute_script(
        'return [...document.querySelectorAll("svg.chord .dot")].map((e) => {'
        "const b = e.getBoundingClientRect();"
        "return [Number(e.dataset.string), Number(e.dataset.fret), b.x + b.width / 2,"
        " b.y + b.height / 2]; })"
    )
    for string, _, x, _ in dots:
        assert abs(x - at[string]) < 1.5
    heights = {fret: y for _, fret, _, y in dots}
    assert heights[1] < heights[2] < heights[3]
    gaps = (heights[2] - heights[1], heights[3] - heights[2])
    assert abs(gaps[0] - gaps[1]) < 0.5
    columns = browser.execute_script(
        'return [...document.querySelectorAll("table.strings .numbers th")].slice(1)'
        ".map((e) => { const b = e.getBoundingClientRect();"
        " return [Number(e.textContent), b.x + b.width / 2]; })"
    )
    for number, x in columns:
        assert abs(x - at[number]) < 2.5, "the table's columns stand under the strings"


def test_an_ornament_is_drawn_on_its_string(browser: Any, tmp_path: Path) -> None:
    log = one_voicing("x 3 2 0 1 0", ornaments="hammer-on 4 0-2")
    open_file(browser, sheet_file(tmp_path, log, "Cartwheel"))
    seen = browser.execute_script(
        'return [...document.querySelectorAll("[data-ornament]")].map('
        "(e) => [e.dataset.ornament, e.dataset.string])"
    )
    assert seen == [["hammer-on", "4"]]
