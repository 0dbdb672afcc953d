"""Who was in a pass of the band: rests, overdubs and a player's second part are left out."""

from __future__ import annotations

from logbook.notebook.read import read_log
from logbook.records.band import band_of

SONG = """
people = ["Ada", "Tor"]
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
form = ["intro 4 bars", "verse 4 bars", "chorus 4 bars"]
[[song.version.part]]
name = "guitar"
player = "Ada"
chart = ["intro: G | . | . | .", "verse: G | % | % | %", "chorus: - "]
voicings = { G = "3 2 0 0 0 3" }
[[song.version.part]]
name = "second guitar"
player = "Ada"
[[song.version.part]]
name = "voice"
player = "Ada"
[[song.version.part]]
name = "mandolin"
player = "Tor"
chart = ["intro: - | - | - | - . G .", "verse: -"]
voicings = { G = "0 0 2 3" }
[[song.version.part]]
name = "shaker"
overdubs = ["over guitar"]
"""


def played(bars: str) -> list[str]:
    log = read_log(SONG)
    return [part.name for part in band_of(log, log.songs[0].versions[0], bars).played]


def test_a_part_plays_where_its_chart_does_not_rest_throughout() -> None:
    assert played("1-12") == ["guitar", "voice", "mandolin"]
    assert played("1-3") == ["guitar", "voice"]
    assert played("4") == ["guitar", "voice", "mandolin"]
    # The chord of bar 4 is over where the verse rests; nobody charted the mandolin's chorus.
    assert played("5-8") == ["guitar", "voice"]
    assert played("9-12") == ["second guitar", "voice", "mandolin"]


def test_it_is_said_why_the_others_are_left_out() -> None:
    log = read_log(SONG)
    assert band_of(log, log.songs[0].versions[0], "1-3").left_out == (
        ("second guitar", "Ada plays guitar"),
        ("mandolin", "rests in bars 1-3"),
        ("shaker", "an overdub"),
    )
