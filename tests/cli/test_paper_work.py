"""The paper work of a session, as it is typed: input lists and hours."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.typed import Typed

DAYS = """
people = ["Ada Fenrush", "Tobin Marsk"]

[[session]]
name = "day one"
date = 2026-05-02
inputs = [
  "10 room; mic pair of ribbons; track 9-10",
  "2 snare top; mic small dynamic; preamp rack 3; pad 20 dB; position two fingers over the rim",
  { channel = "1", source = "kick", track = "1", notes = "pillow; then blanket" },
]
hours = [
  "Tobin Marsk 10:00-18:30; break 13:00-13:45; break 15 min",
  "Ada 22:00 +02:00-02:30; note the last chorus",
]

[[session]]
name = "day two"
date = 2026-05-03
input = ["2 side snare; track 2"]
"""


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    file = tmp_path / "session.toml"
    file.write_text(DAYS, encoding="utf-8")
    typed = Typed(fresh(), capsys)
    typed(["load", str(file)])
    return typed


def test_an_input_list_in_the_order_of_its_channels(typed: Typed) -> None:
    said = typed("input --session 'day one'")
    assert said.startswith("day one: input list  2026-05-02")
    assert said.index("kick") < said.index("snare") < said.index("room")
    assert typed.json("input list --session 'day one'")["inputs"][0] == {
        "channel": "1", "source": "kick", "microphone": "", "preamp": "", "pad": "",
        "position": "", "track": "1", "notes": "pillow; then blanket",
    }  # fmt: skip
    head, first, *_ = typed("input list --session 'day one' --as csv").splitlines()
    assert head == "channel,source,microphone,preamp,pad,track,position,notes"
    assert first == "1,kick,,,,1,,pillow; then blanket"


def test_carried_to_the_next_day_but_not_over_what_stands_there(typed: Typed) -> None:
    assert "carried 2 inputs from day one to day two; day two has its own for the other 1" in typed(
        "input carry 'day two'"
    )
    rows = typed.json("input list --session 'day two'")["inputs"]
    assert [(each["channel"], each["source"]) for each in rows] == [
        ("1", "kick"), ("2", "side snare"), ("10", "room"),
    ]  # fmt: skip
    assert "carried 0 inputs" in typed("input carry 'day two'")
    assert "input carry 'day two'" in typed("history --limit 1")
    typed("undo")
    assert len(typed.json("input list --session 'day two'")["inputs"]) == 1
    assert "no session before day one" in typed("input carry 'day one'", 2)
    assert "is the same session" in typed("input carry 'day one' --from 'day one'", 2)


def test_channels_and_tracks_taken_twice_are_told(typed: Typed) -> None:
    typed("input add '9-11 piano; track 1' --session 'day one'")
    said = typed("check", 1)
    assert "input list, channel 10" in said
    assert "room and piano both come in there" in " ".join(said.split())
    assert "kick and piano are both recorded there" in " ".join(said.split())
    assert "- channel 10 is taken twice: piano and room" in typed("input --session 'day one'")


def test_a_day_sheet_with_its_total(typed: Typed) -> None:
    said = " ".join(typed("hours --session 'day one'").split())
    assert "7 h 30 min" in said
    assert "Total 12 h" in said
    assert "matters of contracts and local rules" in said
    data = typed.json("hours --person tob")
    assert data["minutes"] == {"Tobin Marsk": 450}
    assert data["hours"][0]["to"] == "2026-05-02T18:30"
    (late,) = typed.json("hours --person ada")["hours"]
    assert (late["to"], late["worked_minutes"]) == ("2026-05-03T02:30+02:00", 270)
    assert "no hours yet" in typed("hours --session 'day two'")


def test_hours_that_overlap_have_no_end_or_last_too_long(typed: Typed) -> None:
    typed("hours add 'Tobin Marsk 2026-05-02 18:00' --session 'day two'")
    typed("hours add 'Ada 2026-05-03 08:00-07:00' --session 'day two'")
    said = " ".join(typed("check", 1).split())
    assert "day one and day two: hours of Tobin Marsk" in said
    assert "they have no end" in said
    assert "they come to 23 h at a stretch" in said
    assert "without 1 that has no end yet" in typed("hours --session 'day two'")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("hours add 'Ada' --session 'day one'", "does not say who worked when"),
        ("hours add 'Nobody Known 10-12' --session 'day one'", "no person is called"),
        ("hours add 'Ada 10-12; break 3 h' --session 'day one'", "breaks are longer"),
        ("hours add 'Ada 10-12; lunch 1' --session 'day one'", '"lunch 1" cannot be read'),
        ("input add 'kick' --session 'day one'", "does not say which channel"),
        ("input add '4 tom; colour red' --session 'day one'", '"colour red" cannot be read'),
    ],
)
def test_a_mistake_says_what_would_be_right(typed: Typed, line: str, said: str) -> None:
    assert said in typed(line, 2)


def test_what_is_dumped_is_read_back(typed: Typed, tmp_path: Path) -> None:
    text = typed("dump")
    again = tmp_path / "again.toml"
    again.write_text(text, encoding="utf-8")
    assert "2 snare top; mic small dynamic; preamp rack 3; pad 20 dB; position two" in text
    assert "Tobin Marsk 2026-05-02 10:00-18:30; break 13:00-13:45, 15 min" in text
    typed(["load", str(again)])
    assert typed("dump") == text


def test_a_song_is_checked_with_the_papers_of_its_own_sessions(typed: Typed) -> None:
    typed("hours add 'Tobin Marsk 18:00-19:00' --session 'day one'")
    for title, session in (("Cold Slipway", "day one"), ("Net Loft", "day two")):
        typed(f"song add '{title}'")
        typed(f"version add demo --song '{title}'")
        typed(f"part add guitar --song '{title}' --version demo")
        typed(f"take keeper --song '{title}' --version demo --part guitar --session '{session}'")
    assert "hours of Tobin Marsk" in typed("check 'Cold Slipway'", 1)
    assert "hours of Tobin Marsk" not in typed("check 'Net Loft'")


def test_history_tells_the_bar_and_the_notes_that_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = Typed(str(tmp_path / "log.db"), capsys)
    for line in (
        "song add 'Kiln Lane'",
        "version add album --song Kiln",
        "part add trumpet --song Kiln",
        "part add drums --song Kiln",
        "melody add '9: E4/8 F#4 G4/4 A4/2 | B4 C5' --song Kiln --part trumpet",
        "melody edit 9 --song Kiln --part trumpet --tune 'E4/8 F#4 G4/4 A4/2 | Bb4 C5'",
        "lyric add '12.3: the tide comes in' --song Kiln",
        "lyric edit 12.3 --song Kiln --text 'the tide went out'",
        "pattern add groove '1/8: hat x.x.x.x.; kick x...x...' --song Kiln --part drums",
        "pattern edit groove --song Kiln --part drums --line 'hat x.x.x.x.; kick x...xx..'",
        "recall add 'small combo: gain 4' --song Kiln --part trumpet",
    ):
        typed(line)
    said = " ".join(typed("history").split())
    assert "trumpet, album, Kiln Lane; bar 10: B4 -> Bb4" in said
    assert "bar 12 beat 3: the tide comes in -> the tide went out" in said
    assert "groove of drums, album, Kiln Lane; kick: x...x... -> x...xx.." in said
    assert "added recall of trumpet, album, Kiln Lane: small combo, gain 4" in said
