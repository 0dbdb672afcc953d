"""Notes of parts without frets: reach, name, and written taken for sounding."""

from __future__ import annotations

import pytest

from logbook.checking.pitches import played_notes
from logbook.notebook.read import read_log
from logbook.records import Log
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted

SONG = """
[[instrument]]
name = "the black clarinet"
kind = "{kind}"
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
key = "Bb"
form = ["verse 4 bars"]
[[song.version.part]]
name = "clarinet"
instrument = "the black clarinet"
pitched = "{pitched}"
chart = ["verse: Bb | F7 | Bb | ."]
voicings = {{ Bb = "{bb}", F7 = "{f7}" }}
"""


def a_log(bb: str, f7: str, pitched: str, kind: str = "Bb clarinet") -> Log:
    return read_log(SONG.format(bb=bb, f7=f7, pitched=pitched, kind=kind))


def found(log: Log) -> list[tuple[str, str]]:
    return [(each.what, each.mend) for each in played_notes(log, log.songs[0])]


@pytest.mark.parametrize(
    ("bb", "f7", "pitched"),
    [("C4 E4 G4", "G4 B4 D5 F5", "written"), ("Bb3 D4 F4", "F4 A4 C5 Eb5", "sounding")],
)
def test_what_is_right_is_not_spoken_of(bb: str, f7: str, pitched: str) -> None:
    assert found(a_log(bb, f7, pitched)) == []


def test_written_notes_taken_for_sounding_ones_are_told_as_that() -> None:
    for pitched, other in (("sounding", "written"), ("written", "sounding")):
        notes = ("C4 E4 G4", "G4 B4 D5 F5") if other == "written" else ("Bb3 D4 F4", "F4 A4 C5 Eb5")
        problems = found(a_log(*notes, pitched))
        assert len(problems) == 2
        for what, mend in problems:
            assert f"as {other}, not as {pitched}" in what
            assert mend == f'logbook part edit "clarinet" --pitched {other}'


def test_a_note_out_of_reach_and_a_wrong_name_are_two_things() -> None:
    (low,) = found(a_log("Bb2 D4 F4", "F4 A4 C5 Eb5", "sounding"))
    assert low[0] == "Bb2 cannot be played: a clarinet sounds from D3 to Bb6"
    (wrong,) = found(a_log("Bb3 Db4 F4", "F4 A4 C5 Eb5", "sounding"))
    assert "Db (the b3) sounds" in wrong[0] or "Bbm" in wrong[0]
    assert found(a_log("Bb2 D4 F4", "F4 A4 C5 Eb5", "sounding", "piano")) == []


def test_the_players_sheet_says_concert_and_written_and_draws_no_neck() -> None:
    log = a_log("C4 E4 G4", "G4 B4 D5 F5", "written")
    drawn = draw_sheet(make_sheet("player", log, Wanted("Low Water")), "text", Look())
    assert isinstance(drawn, str)
    lines = [" ".join(line.split()) for line in drawn.splitlines()]
    assert "1 │ B♭ │ F7 │ B♭ │ · │" in lines
    assert "│ C │ G7 │ C │ · │" in lines
    assert any(line.startswith("sounds B♭3 D4 F4") for line in lines)
    assert any(line.startswith("reads C4 E4 G4") for line in lines)
    assert "nut" not in drawn
    page = draw_sheet(make_sheet("player", log, Wanted("Low Water")), "html", Look())
    assert isinstance(page, str)
    assert "sounds B♭3 D4 F4; reads C4 E4 G4" in page
