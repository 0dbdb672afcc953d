"""Voicings said as notes: moved with the key, kept in reach, written, and heard."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.midi import midi_file
from logbook.arranging.musicxml import musicxml_text, musicxml_tree
from logbook.notebook.read import read_log
from logbook.records import ArrangedPart, ArrangedSection, Arrangement
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look
from logbook.theory.keys import ALL_KEYS
from logbook.theory.pitch import name_to_midi
from tests.musicxml_schema import assert_valid

SONG = """
[[instrument]]
name = "the reed"
kind = "{kind}"
[[instrument]]
name = "upright"
kind = "piano"
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
key = "{key}"
tempo = 96
form = ["verse 4 bars", "chorus 2 bars"]
[[song.version.part]]
name = "reed"
instrument = "the reed"
pitched = "{pitched}"
chart = ["verse: Bb | F7 | Bb | .", "chorus: Gm | ."]
voicings = {{ Bb = "{bb}", F7 = "{f7}", Gm = "{gm}" }}
[[song.version.part]]
name = "keys"
instrument = "upright"
chart = ["verse: Bb | F7 | hook | .", "chorus: - | ."]
voicings = {{ Bb = "Bb2 F3 D4", F7 = "F2 Eb3 A3", hook = "F#3 G3" }}
"""
WRITTEN = ("C4 E4 G4", "G4 B4 D5 F5", "A4 C5 E5")


def a_song(
    notes: tuple[str, str, str] = WRITTEN,
    kind: str = "clarinet",
    pitched: str = "written",
    plan: Arrangement | None = None,
    key: str = "Bb",
) -> ArrangedVersion:
    bb, f7, gm = notes
    log = read_log(SONG.format(kind=kind, pitched=pitched, bb=bb, f7=f7, gm=gm, key=key))
    song = log.songs[0]
    return arrange(log, song, song.versions[0], plan or Arrangement(name="live", key="Db"))


def notes_of(found: ArrangedVersion, name: str = "reed") -> dict[str, str]:
    part = next(each for each in found.version.parts if each.name == name)
    return {each.name or each.label: each.pitches for each in part.voicings}


def test_notes_move_with_the_key_in_the_way_they_are_said() -> None:
    found = a_song()
    assert notes_of(found) == {"Db": "Eb4 G4 Bb4", "Ab7": "Bb4 D5 F5 Ab5", "Bbm": "C5 Eb5 G5"}
    # What names no chord moves as the keys do: F# leads to G as A does to Bb.
    assert notes_of(found, "keys") == {
        "Db": "Db3 Ab3 F4", "Ab7": "Ab2 Gb3 C4", "hook": "A3 Bb3",
    }  # fmt: skip
    assert not [each for each in found.remarks if "shapes" in each]


@pytest.mark.parametrize("key", [each for each in ALL_KEYS if each.mode == "major"])
def test_in_every_key_the_notes_are_as_far_and_in_reach(key: object) -> None:
    found = a_song(plan=Arrangement(name="x", key=str(getattr(key, "short", key))))
    for name in ("reed", "keys"):
        before = next(each for each in found.recorded.parts if each.name == name)
        after = next(each for each in found.version.parts if each.name == name)
        for old, new in zip(before.voicings, after.voicings, strict=True):
            was, now = (list(map(name_to_midi, each.pitches.split())) for each in (old, new))
            ways = {b - a for a, b in zip(was, now, strict=True)}
            assert len(ways) == 1, new
            assert (ways.pop() - found.steps) % 12 == 0
            assert not any(each.count("#") + each.count("b") > 1 for each in new.pitches.split())


def test_what_is_out_of_reach_goes_an_octave_and_is_told() -> None:
    high = ("Bb4 D5 F5", "C5 Eb5 A5", "G5 Bb5 D6")
    found = a_song(high, "trumpet", "sounding")
    assert notes_of(found)["Bbm"] == "Bb4 Db5 F5"
    assert notes_of(found)["Db"] == "Db5 F5 Ab5"
    assert "reed: Bbm goes an octave down, as a trumpet sounds from E3 to D6" in found.remarks
    # A line stays a line: all of it goes.
    found = a_song(("Bb5", "C6", "D6"), "trumpet", "sounding")
    assert set(notes_of(found).values()) == {"Db5", "Eb5", "F5"}
    assert (
        "reed: all of its notes go an octave down, as a trumpet sounds from E3 to D6"
        in found.remarks
    )


def test_another_instrument_reads_and_reaches_what_it_can() -> None:
    plan = Arrangement(name="x", parts=(ArrangedPart(part="reed", instrument="upright"),))
    assert notes_of(a_song(plan=plan)) == {
        "Bb": "Bb3 D4 F4",
        "F7": "F4 A4 C5 Eb5",
        "Gm": "G4 Bb4 D5",
    }
    plan = Arrangement(name="x", parts=(ArrangedPart(part="keys", instrument="the reed"),))
    found = a_song(plan=plan)
    assert notes_of(found, "keys")["Bb"] == "Bb3 F4 D5"
    assert any("keys" in each and "octave up, as a clarinet" in each for each in found.remarks)


def test_a_section_in_another_key_has_its_own_notes() -> None:
    plan = Arrangement(
        name="x",
        sections=(
            ArrangedSection(name="verse", source="verse"),
            ArrangedSection(name="verse", source="verse", moves="up 2"),
        ),
    )
    found = a_song(plan=plan)
    part = found.version.parts[0]
    pitches = {each.label: each.pitches for each in part.voicings}
    by_bar = {entry.bar: pitches[entry.voicing] for entry in part.chart if entry.voicing}
    assert by_bar[1] == "C4 E4 G4"
    assert by_bar[5] == "D4 F#4 A4"
    assert by_bar[6] == "A4 C#5 E5 G5"


def test_the_file_of_notes_is_at_written_pitch_and_says_the_way_back() -> None:
    found = a_song()
    assert_valid(musicxml_text(found))
    root = musicxml_tree(found, repeats=False)
    reed, keys = root.findall("part")
    assert reed.findtext("measure/attributes/transpose/chromatic") == "-2"
    assert reed.findtext("measure/attributes/key/fifths") == "-3"
    assert heads(reed.findall("measure")[1]) == ["Bb4", "D5", "F5", "Ab5"]
    assert heads(keys.findall("measure")[0]) == ["F4", "Db3", "Ab3"]  # on two staves
    assert keys.find("measure/attributes/transpose") is None
    assert [e.text for e in keys.findall("measure/attributes/clef/sign")] == ["G", "F"]
    assert root.find(".//technical") is None


def heads(measure: ElementTree.Element) -> list[str]:
    found = []
    for pitch in measure.findall("note/pitch"):
        alter = int(pitch.findtext("alter", "0"))
        sign = "#" * alter if alter > 0 else "b" * -alter
        found.append(f"{pitch.findtext('step')}{sign}{pitch.findtext('octave')}")
    return found


def test_the_notes_sound_in_the_midi_file() -> None:
    for track, program, first in (("reed", 71, (61, 65, 68)), ("keys", 0, (49, 56, 65))):
        file = midi_file(a_song(), parts=[track], click=False)
        messages = next(each for each in file.tracks if each.name == track)
        assert [m.program for m in messages if m.type == "program_change"] == [program]
        struck = [m for m in messages if m.type == "note_on"]
        assert tuple(m.note for m in struck[:3]) == first
        assert [m.time for m in struck[1:3]] == [0, 0]


def test_the_sheet_shows_what_sounds_and_what_is_read() -> None:
    drawn = draw_sheet(make_sheet("arrangement", a_song()), "text", Look())
    assert isinstance(drawn, str)
    lines = [" ".join(line.split()) for line in drawn.splitlines()]
    assert "A♭7 A♭4 C5 E♭5 G♭5 B♭7 B♭4 D5 F5 A♭5" in lines
    assert "A♭7 A♭2 G♭3 C4" in lines
