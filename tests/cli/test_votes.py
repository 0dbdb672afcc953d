"""Votes as they are typed, the comp sheet, and a comp drafted from them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.typed import Typed

SONG = """
people = ["Ada Fenrush", "Tobin Marsk"]

[[session]]
name = "day one"

[[song]]
title = "Low Water"

[[song.version]]
name = "album"
tempo = "96"
form = ["verse 1-4", "chorus 5-8", "verse 9-12"]

[[song.version.part]]
name = "voice"
takes = ["1 complete 1-12", "2 complete 1-12", "3 incomplete 5-12", "4 false start"]
votes = [
  "Ada: verse 1 take 2",
  "Ada: 5-6 take 1 good; phrase down by the slip; note breath",
  "Tobin: 5-6 take 3 best",
  "7-8 take 1 fair",
]
"""


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    file = tmp_path / "session.toml"
    file.write_text(SONG, encoding="utf-8")
    typed = Typed(fresh(), capsys)
    typed(["load", str(file)])
    typed("here low album voice --session day")
    return typed


def test_a_comp_sheet_has_lines_down_and_takes_across(typed: Typed) -> None:
    lines = typed("vote").splitlines()
    assert lines[1].split("  ")[0] == "bars"
    assert [name in lines[1] for name in ("take 1", "take 2", "take 3", "take 4")] == [
        True, True, True, False,
    ]  # fmt: skip
    said = " ".join(" ".join(lines).split())
    assert "5-6 down by the slip Ada good (breath) > Tobin best 7-8 > fair 9-12 verse" in said
    assert "No votes on take 4." in said
    data = typed.json("vote sheet")
    assert [each["bars"] for each in data["lines"]] == ["1-4", "5-6", "7-8", "9-12"]
    assert data["lines"][1]["best"] == ['3/"day one"']
    assert typed("vote --as csv").splitlines()[1].endswith("verse 1,Ada Fenrush,2,,best,,")


def test_a_draft_is_a_proposal_until_it_is_accepted(typed: Typed) -> None:
    said = " ".join(typed("comp draft").split())
    assert "1-4 take 2 verse 1: Ada Fenrush best" in said
    assert "5-6 take 3 down by the slip: Tobin Marsk best" in said
    assert typed("comp list").endswith("no comps yet\n")
    assert "added comp" in typed("comp draft --accept --xfade 10ms")
    (comp,) = typed.json("comp list")
    assert comp["final"]
    assert [(each["bars"], each["take"], each["crossfade_ms"]) for each in comp["pieces"]] == [
        ("1-4", 2, None), ("5-6", 3, 10.0), ("7-12", 1, 10.0),
    ]  # fmt: skip


def test_a_draft_never_takes_the_place_of_a_comp_unasked(typed: Typed) -> None:
    typed("comp add comp --pieces '1-12 take 1'")
    said = typed("comp draft --accept")
    assert "added voted" in said
    assert "comp is still the final comp" in said
    typed("vote add 'Tobin: verse 2 take 3 good'")
    assert "replaced voted" in typed("comp draft --accept")
    typed("comp edit voted --final")
    assert "a comp called voted already exists" in typed("comp draft --accept", 2)
    assert "a comp called comp already exists" in typed("comp draft --accept --name comp", 2)
    assert "replaced comp" in typed("comp draft --accept --name comp --replace")
    assert [(each["name"], each["final"]) for each in typed.json("comp list")] == [
        ("comp", False), ("voted", True),
    ]  # fmt: skip
    assert "add --accept" in typed("comp draft --name x", 2)


def test_votes_move_with_the_form_and_for_takes_there_are_not_are_told(typed: Typed) -> None:
    typed("vote add '9-10 take 9'")
    typed("vote add 'Ada: 1-2 take 3'")
    said = " ".join(typed("check", 1).split())
    assert "it is for take 9, and there is no take 9" in said
    assert "it is for take 3, and take 3 covers bars 5-12 only" in said
    typed("form insert 2 --before 5")
    assert [each["bars"] for each in typed.json("vote list")] == [
        "1-4", "7-8", "7-8", "9-10", "11-12", "1-2",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Ada: verse take 2", '"verse" may be any of 2 sections'),
        ("Ada: 5-6 take 2 lovely", '"lovely" is not one of best, good, fair, poor'),
        ("Ada: 5-6", "does not say which take"),
        ("Nobody: 5-6 take 2", "no person is called"),
    ],
)
def test_a_mistake_says_what_would_be_right(typed: Typed, line: str, said: str) -> None:
    assert said in typed(["vote", "add", line], 2)


def test_without_votes_there_is_nothing_to_draft(typed: Typed) -> None:
    typed("part add guitar")
    assert "nobody has voted" in typed("comp draft low guitar", 2)
    assert "nobody has voted" in typed("vote low guitar")
