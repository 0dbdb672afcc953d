"""Drum parts through the chart: what is struck when, in MIDI, on a staff and on a sheet."""

from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.drumming import drum
from logbook.arranging.midi import midi_file
from logbook.arranging.musicxml import musicxml_text, musicxml_tree
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.notebook.write import write_log
from logbook.records import ArrangedSection, Arrangement
from logbook.records.context import bars_map
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from tests.musicxml_schema import assert_valid

SONG = """
[[song]]
title = "Gull Weather"
[[song.version]]
name = "album"
key = "C"
meter = ["4/4", "5 3/4"]
tempo = 96
form = ["verse 1-4", "tag 5-6"]
[[song.version.part]]
name = "drums"
chart = ["verse: A | . | - | 1:A 3:fill", "tag: waltz | -"]
[song.version.part.patterns]
A = "1/8: hat x.x.x.xo; snare ..X...xg; kick x..xx..."
fill = "1/16: snare xxxxxxxxf......."
waltz = "1/8 swing: ride x.xxx.; kick x....."
"""


def arranged(**plan: object) -> ArrangedVersion:
    log = read_log(SONG)
    song = log.songs[0]
    said = Arrangement(name="live", **plan)  # type: ignore[arg-type]
    return arrange(log, song, song.versions[0], said)


def struck(found: ArrangedVersion) -> list[tuple[Fraction, str]]:
    part = found.version.parts[0]
    strokes = drum(found.place(part), bars_map(found.version))
    return [(each.start, each.piece.name) for each in strokes]


def test_patterns_go_round_until_the_chart_says_otherwise() -> None:
    hits = struck(arranged())
    kicks = [at for at, name in hits if name == "kick"]
    assert kicks[:6] == [0, Fraction(3, 8), Fraction(1, 2), 1, Fraction(11, 8), Fraction(3, 2)]
    assert [at for at in kicks if at >= 2] == [3, 3 + Fraction(3, 8), 4]
    assert [at for at, name in hits if name == "ride"] == [
        4,
        4 + Fraction(1, 4),
        4 + Fraction(5, 12),
        4 + Fraction(1, 2),
    ]


def test_a_pattern_is_no_chord_in_another_key() -> None:
    sections = (
        ArrangedSection(name="tag", source="tag"),
        ArrangedSection(name="verse", source="verse"),
    )
    found = arranged(key="D", sections=sections)
    part = found.version.parts[0]
    assert [(e.bar, e.voicing) for e in part.chart] == [
        (1, "waltz"), (2, ""), (3, "A"), (5, ""), (6, "A"), (6, "fill"),
    ]  # fmt: skip
    assert next(at for at, name in struck(found) if name == "kick") == 0


def test_midi_uses_the_percussion_channel() -> None:
    track = next(t for t in midi_file(arranged(), click=False).tracks if t.name == "drums")
    on = [each for each in track if each.type == "note_on" and each.velocity]
    assert {each.channel for each in on} == {9}
    assert {each.note for each in on} == {36, 38, 42, 46, 51}
    accents = {each.velocity for each in on if each.note == 38}
    assert len(accents) > 2  # accent, plain, ghost


def test_musicxml_has_a_percussion_staff() -> None:
    assert_valid(musicxml_text(arranged()))
    root = musicxml_tree(arranged())
    assert root.findtext("part/measure/attributes/clef/sign") == "percussion"
    first = root.findall("part/measure[@number='1']/note")
    steps = [(each.findtext("unpitched/display-step"), each.findtext("notehead")) for each in first]
    assert steps[:3] == [("F", None), ("G", "x"), ("C", None)]
    assert root.find("part/measure[@number='4']/note/grace") is not None
    names = [each.text for each in root.findall("part-list//instrument-name")]
    assert names == ["kick", "snare", "hat", "ride"]
    assert root.findall("part/measure/harmony") == []


def test_the_sheet_draws_rows_under_the_count() -> None:
    sheet = make_sheet("player", read_log(SONG), Wanted("Gull Weather"))
    text = str(draw_sheet(sheet, "text", Look()))
    assert "         1 & 2 & 3 & 4 &\n  hat    x . x . x . x o\n" in text
    assert "does not say on which string" not in text
    page = str(draw_sheet(sheet, "html", Look()))
    assert page.count('<table class="kit">') == 3


def test_the_session_file_says_it_again() -> None:
    log = read_log(SONG)
    assert read_log(write_log(log)) == log
    with pytest.raises(LogbookError, match="has 7 steps"):
        read_log(SONG.replace("ride x.xxx.", "ride x.xxx.x"))
