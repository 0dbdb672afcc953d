"""What a live chart writes of a song with a D.S.: what comes after the jump is not drawn again."""

from __future__ import annotations

from logbook.notebook.read import read_log
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.folded import bar_passes
from logbook.sheets.folding import fold
from logbook.sheets.live import live_sheet
from logbook.sheets.looks import Look, Wanted

SONG = """
[[song]]
title = "Tern Island"
[[song.version]]
name = "album"
key = "G"
meter = "4/4"
tempo = ["112"]
form = ["intro 2 bars", "verse 4 bars", "chorus 4 bars", "bridge 2 bars", "coda 2 bars"]
[[song.version.part]]
name = "guitar"
tuning = "standard"
voicings = { G = "3 2 0 0 0 3", C = "x 3 2 0 1 0", D = "x x 0 2 3 2" }
chart = [
  "intro: G | C", "verse: G | C | G | D", "chorus: C | G | C | D", "bridge: C | D", "coda: G | G",
]
[[song.version.arrangement]]
name = "pier"
sections = ["intro", "verse, segno", "chorus, to coda", "bridge, D.S. al coda", "coda, coda"]
"""


def live(text: str) -> str:
    drawn = draw_sheet(make_sheet("live", read_log(text), Wanted("Tern Island")), "text", Look())
    assert isinstance(drawn, str)
    return drawn.partition("Road map")[0]


def test_what_comes_after_the_jump_is_written_once() -> None:
    chart = live(SONG)
    assert chart.count("verse, bars") == chart.count("chorus, bars") == 1
    assert "verse, bars 3–6, again bars 13–16" in chart
    assert "bridge, bars 11–12, D.S. al coda" in chart
    assert "coda, bars 21–22" in chart
    assert "after the D.S." not in chart


def test_what_is_played_otherwise_after_the_jump_is_drawn() -> None:
    slower = '"1 112", "9-11 112 to 90"'  # slower into the bridge, but not into the coda
    chart = live(SONG.replace('"112"', slower))
    assert chart.count("after the D.S.") == 2
    assert chart.count("chorus, bars") == 2


def test_what_is_in_force_again_after_the_jump_is_marked_where_it_is_written() -> None:
    for changed, mark in (
        (SONG.replace('"112"', '"1 112", "7 96"'), "♩=112"),
        (SONG.replace('"112"', '"1 112", "9-10 112 to 90", "11 60"'), "♩=112"),
        (SONG.replace('"112"', '"1 112", "11 free", "13 112"'), "♩=112"),
        (SONG.replace('meter = "4/4"', 'meter = ["1 4/4", "11 3/4", "13 4/4"]'), "4/4"),
    ):
        chart = live(changed).splitlines()
        (verse,) = (at for at, line in enumerate(chart) if line.startswith("verse, bars"))
        assert "again bars 13–16" in chart[verse]
        assert chart[verse + 1].strip() == mark
    strummed = SONG.replace(
        'D = "x x 0 2 3 2" }',
        """D = "x x 0 2 3 2" }
patterns = { roll = "1/4: D D D D", strum = "1/4: D U D U" }""",
    )
    strummed = strummed.replace('"intro: G |', '"intro: G@roll |').replace("dge: C", "dge: C@strum")
    chart = live(strummed.replace('"coda: G', '"coda: G@roll'))
    assert "verse, bars 3–6, again bars 13–16, segno: pattern roll" in chart
    assert "coda, bars 21–22, coda: pattern roll" in chart


def test_endings_that_were_said_are_written_as_endings() -> None:
    longer = SONG.replace("verse 4 bars", "verse 6 bars").replace(
        "G | C | G | D", "G | C | G | D | C | G"
    )
    chart = live(longer.replace("verse, segno", "verse x2, segno, endings 5 / 6"))
    assert "verse, bars 3–7 x2" in chart
    # After the jump the last ending is played, and nothing is drawn again.
    assert "again bars 8–12, after the jump 19–23 with the last ending, segno" in " ".join(
        chart.split()
    )
    assert chart.count("verse, bars") == chart.count("chorus, bars") == 1
    assert "first ending" not in chart
    alike = longer.replace("| D | C | G", "| D | C | C").replace(
        "verse, segno", "verse x2, segno, endings 5 / 6"
    )
    assert "verse, bars 3–7 x2, again bars 8–12, 19–23" in live(alike)


def test_a_bar_after_the_jump_is_the_bar_that_is_written() -> None:
    form = SONG.replace("verse 4 bars", "verse 6 bars").replace(
        "G | C | G | D", "G | C | G | D | C | G"
    )
    log = read_log(form.replace("verse, segno", "verse x2, segno, endings 5 / 6"))
    _, verse, *_ = fold(live_sheet(log, "Tern Island").plans[0].parts[0].chart)
    assert [bar_passes(verse, bar) for bar in verse.rows[0]] == ["3 8 19", "4 9 20", "5 10 21",
                                                                 "6 11 22"]  # fmt: skip
    (first,), (last,) = verse.endings
    assert (bar_passes(verse, first), bar_passes(verse, last)) == ("7", "12 23")
