"""`logbook at`: one bar, months later."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.typed import Typed
from tests.notebook.lines.days import SALTPAN


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> Typed:
    typed = Typed(fresh(), capsys)
    typed(["note", SALTPAN + "part guitar\nnote 12: let it ring\nC 2 bars"])
    return typed


def said(typed: Typed, line: str) -> dict[str, str]:
    return {each["about"]: each["text"] for each in typed.json(line)["said"]}


def test_a_bar_says_all_that_is_known_of_it(typed: Typed) -> None:
    told = said(typed, "at 12")
    assert told["bar"].startswith("12; B, bar 4 of 8 (bars 9-16); begins at 0:27.500")
    assert told["sounds"] == "Bm7 (on 1): B2 F#3 A3 D4 F#4"
    assert told["frets"] == "Bm7 x 2 4 2 3 2 from the nut"
    assert "the cedar one" in told["on"]
    assert told["take"].startswith("2, keeper, session")
    assert "heard again in 25-32" in told["take"]
    assert told["punched"] == "12, pass 2, late on the change"
    assert told["double"] == "not doubled: low strings blur"
    assert told["notes"] == "let it ring (bars 12)"


def test_a_bar_that_comes_from_another_bar_of_its_take(typed: Typed) -> None:
    told = said(typed, "at 28")
    assert ", from its bar 12" in told["take"]
    assert told["punched"].startswith("12")
    assert "goes on" in said(typed, "at 10")["sounds"]


def test_sections_say_which_bar(typed: Typed) -> None:
    assert typed.json("at B.4")["bar"] == 12
    assert typed.json("at B2.4")["bar"] == 28
    assert typed.json("at B2")["bar"] == 25
    assert "also     bar 28" in typed("at B.4")
    assert said(typed, "at C")["sounds"] == "not charted yet"
    assert "nothing of comp stands there" in said(typed, "at C")["take"]


def test_another_part_and_no_part(typed: Typed) -> None:
    assert said(typed, "at 4 --part high")["sounds"].startswith("rests")
    assert "no comp says" in said(typed, "at 9 --part high")["take"]
    typed("here --forget")
    assert "which part" in typed("at 4 --song salt", 2)


@pytest.mark.parametrize(
    ("line", "says"), [("at 99", "the form has no bar 99"), ("at Q", "no section is called Q")]
)
def test_slips(typed: Typed, line: str, says: str) -> None:
    assert says in typed(line, 2)


def test_it_fits_a_narrow_screen(typed: Typed) -> None:
    lines = typed("at 12").splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert len(lines) <= 14
