"""Melodies, silence and drums: what they contradict, and that what is right says nothing."""

from __future__ import annotations

import pytest

from logbook.checking import check_song
from logbook.notebook.read import read_log
from logbook.records.band import rests_in

SONG = """
[[instrument]]
name = "horn"
kind = "alto saxophone"
[[session]]
name = "day"
[[song]]
title = "Gull Weather"
[[song.version]]
name = "album"
key = "Eb"
meter = ["4/4", "5 3/4"]
form = ["verse 1-4", "tag 5-6"]
[[song.version.part]]
name = "sax"
instrument = "horn"
pitched = "written"
tacet = "tag"
melody = ["verse: C5/4 D E F | G/1"]
takes = { day = ["1 keeper 1-6"] }
comp = ["1-4 take 1"]
[[song.version.part]]
name = "drums"
chart = ["verse: groove | . | . | .", "tag: -"]
[song.version.part.patterns]
groove = "1/8: hat x.x.x.x.; kick x...x..."
"""


def found(text: str) -> list[tuple[str, str]]:
    log = read_log(text)
    rules = ("melody", "tacet", "drum pattern", "comp gap")
    return [(e.rule, e.what) for e in check_song(log, log.songs[0]) if e.rule in rules]


def test_what_is_right_says_nothing() -> None:
    assert found(SONG) == []  # the comp need not cover bars in which the part is silent


@pytest.mark.parametrize(
    ("old", "new", "rule", "what"),
    [
        (
            "| G/1",
            "| G/1 A/1 A A A A",
            "melody",
            "it goes on in bars 7-8, past the end",
        ),
        (
            "C5/4 D E",
            "C3/4 D E",
            "melody",
            "Ab2 cannot be played: an alto saxophone",
        ),
        ('tacet = "tag"', 'tacet = "verse"', "tacet", "its melody has notes in bars 1-2"),
        ('tacet = "tag"', 'tacet = "1-2"', "tacet", "its melody has notes in bars 1-2"),
        ('comp = ["1-4 take 1"]', 'comp = ["1-6 take 1", "5 take 1"]', "tacet", "the comp has"),
        ('tacet = "tag"\n', "", "comp gap", "nothing stands in bars 5-6"),
        ('"tag: -"', '"tag: groove | ."', "drum pattern", "has 8 steps, and a bar of 3/4 has 6"),
    ],
)
def test_one_thing_wrong_is_found(old: str, new: str, rule: str, what: str) -> None:
    assert old in SONG
    problems = found(SONG.replace(old, new, 1))
    assert any(each == rule and what in said for each, said in problems), problems


def test_the_band_s_take_leaves_out_who_is_silent() -> None:
    version = read_log(SONG).songs[0].versions[0]
    sax = version.parts[0]
    assert rests_in(version, sax, "5-6")
    assert not rests_in(version, sax, "1-6")
