"""Melodies over the chart: in their bars and key, for each reader, written and heard."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.midi import midi_file
from logbook.arranging.musicxml import musicxml_text, musicxml_tree
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import ArrangedPart, ArrangedSection, Arrangement
from logbook.records.form_edits import FormMove, edited
from logbook.records.songs import FormSection
from tests.musicxml_schema import assert_valid

SONG = """
[[instrument]]
name = "grand"
kind = "piano"
[[instrument]]
name = "horn"
kind = "alto saxophone"
[[song]]
title = "Gull Weather"
[[song.version]]
name = "album"
key = "Eb"
pickup = "1 q"
meter = ["4/4", "5 3/4"]
tempo = 96
form = ["verse 1-4", "tag 5-6"]
lyrics = ["0: oh", "1: the gulls come in"]
[[song.version.part]]
name = "voice"
melody = ["0: Bb3/4", "verse: Eb4/4 F G Bb | C5/2 Bb4/4. G/8 | Ab/1~ | Ab/2 r", "tag: Bb4/8t C5 D"]
[[song.version.part]]
name = "keys"
instrument = "grand"
voicings = { Eb = "Eb2 G3", Ab = "Ab2 Eb4" }
chart = "verse: Eb | Ab | Eb | Ab"
melody = ["2.3: G5/8 Ab Bb4/4"]
[[song.version.part]]
name = "sax"
instrument = "horn"
pitched = "written"
tacet = "tag"
melody = ["verse: C5/4 D E F | G/1"]
[[song.version.part]]
name = "guitar"
tuning = "standard"
chart = "verse: Eb | Eb | Eb | Eb"
voicings = { Eb = "x 6 8 8 8 6" }
melody = ["tag: Eb5/4 D C"]
"""


def arranged(**plan: object) -> ArrangedVersion:
    log = read_log(SONG)
    song = log.songs[0]
    said = Arrangement(name="live", **plan)  # type: ignore[arg-type]
    return arrange(log, song, song.versions[0], said)


def tunes(found: ArrangedVersion, part: str) -> list[str]:
    played = next(each for each in found.version.parts if each.name == part)
    return [f"{each.bar}.{each.beat}: {each.tune}" for each in played.melody]


def test_notes_move_with_the_key_however_they_are_said() -> None:
    found = arranged(key="C")
    assert tunes(found, "voice")[0] == "0.1: G3/4"
    assert tunes(found, "voice")[1].startswith("1.1: C4/4 D4 E4 G4 | A4/2 G4/4. E4/8 | F4/1~")
    assert tunes(found, "sax") == ["1.1: A4/4 B4 C#5 D5 | E5/1"]
    assert tunes(found, "guitar") == ["5.1: C5/4 B4 A4"]


def test_another_reader_gets_them_as_written_for_it() -> None:
    found = arranged(parts=(ArrangedPart(part="sax", instrument="grand"),))
    sax = next(each for each in found.version.parts if each.name == "sax")
    assert sax.melody[0].tune == "Eb4/4 F4 G4 Ab4 | Bb4/1"


def test_a_melody_out_of_reach_goes_an_octave_and_says_so() -> None:
    found = arranged(key="A", parts=(ArrangedPart(part="sax"),))
    assert tunes(found, "sax") == ["1.1: F#4/4 G#4 A#4 B4 | C#5/1"]
    low = read_log(SONG.replace("C5/4 D E F | G/1", "Bb3/4 Bb3 Bb3 Bb3"))
    song = low.songs[0]
    down = arrange(low, song, song.versions[0], Arrangement(name="x", key="D"))
    sax = next(each for each in down.version.parts if each.name == "sax")
    assert sax.melody[0].tune == "A4/4 A4 A4 A4"
    assert any("its melody goes an octave up, as an alto saxophone" in e for e in down.remarks)


def test_bars_that_are_played_again_bring_their_notes() -> None:
    sections = (
        ArrangedSection(name="tag", source="tag"),
        ArrangedSection(name="verse", source="verse", times=2),
    )
    found = arranged(sections=sections)
    assert tunes(found, "voice")[0] == "1.1: Bb4/8t C5 D5"
    there = [each.partition(".")[0] for each in tunes(found, "voice")]
    assert there == ["1", "3", "4", "5", "6", "7", "8", "9", "10"]
    assert tunes(found, "voice")[3] == "5.1: Ab4/1~"
    assert tunes(found, "keys") == ["4.3: G5/8 Ab5 Bb4/4", "8.3: G5/8 Ab5 Bb4/4"]


def test_an_edited_form_carries_the_melody() -> None:
    version = read_log(SONG).songs[0].versions[0]
    form = (FormSection(name="tag", start=1, bars=2), FormSection(name="verse", start=3, bars=4))
    moved = edited(version, form, [FormMove(5, 2, 1), FormMove(1, 4, 3)]).version
    bars = {each.name: [one.bar for one in each.melody] for each in moved.parts}
    assert bars == {"voice": [0, 1, 3], "keys": [4], "sax": [3], "guitar": [1]}
    cut = edited(
        replace(version), (FormSection(name="verse", start=1, bars=1),), [FormMove(1, 1, 1)]
    )
    assert [each.tune for each in cut.version.parts[0].melody] == ["Bb3/4", "Eb4/4 F4 G4 Bb4"]
    assert "voice: the melody of bar 2 went with it" in cut.told


def test_midi_plays_chart_and_melody() -> None:
    file = midi_file(arranged(), click=False, count_in_bars=0)
    on = {
        track.name: [each.note for each in track if each.type == "note_on" and each.velocity]
        for track in file.tracks
    }
    assert on["voice"] == [58, 63, 65, 67, 70, 72, 70, 67, 68, 70, 72, 74]
    assert {79, 80, 70} < set(on["keys"])
    assert on["sax"] == [63, 65, 67, 68, 70]
    assert on["guitar"][-3:] == [75, 74, 72]
    with pytest.raises(LogbookError, match="no melody"):
        midi_file(arranged(), parts=["tuba"])


def test_musicxml_has_each_reader_s_notes() -> None:
    found = arranged()
    text = musicxml_text(found)
    assert_valid(text)
    root = musicxml_tree(found, repeats=False)
    names = [each.text for each in root.findall("part-list/score-part/part-name")]
    assert names == ["voice", "keys", "sax", "guitar", "guitar, melody"]
    parts = root.findall("part")
    assert _pitches(parts[0])[:5] == ["B-3", "E-4", "F4", "G4", "B-4"]
    assert parts[0].find("measure[@number='1']//lyric/text") is not None
    assert parts[1].findtext("measure/attributes/staves") == "2"
    assert [each.text for each in parts[1].findall("measure/attributes/clef/sign")] == ["G", "F"]
    assert _pitches(parts[2]) == ["C5", "D5", "E5", "F5", "G5"]
    assert parts[2].findtext("measure/attributes/transpose/chromatic") == "-9"
    tied = parts[0].find("measure[@number='3']/note/tie")
    assert tied is not None
    assert tied.get("type") == "start"
    beams = [each.text for each in parts[0].findall("measure[@number='5']/note/beam")]
    assert beams == ["begin", "continue", "end"]


def _pitches(part: ElementTree.Element) -> list[str]:
    signs = {"-1": "-", "1": "#", None: ""}
    return [
        f"{each.findtext('step')}{signs[each.findtext('alter')]}{each.findtext('octave')}"
        for each in part.findall("measure/note/pitch")
    ]
