from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

import pytest

from logbook.arranging.adaptations import Adaptation
from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.singers import SingersAnswer, keys_for
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Part,
    Person,
    TempoChange,
    Voicing,
)
from logbook.sheets.arranged_answers import AskedDifferences, AskedWays
from logbook.sheets.arranged_data import singer_data, to_data, way_data
from tests.arranging.material import GUITAR_PART, VERSION, arranged
from tests.arranging.test_adaptations import rig, shapes
from tests.sheets.drawing import lines_of


def to_lines(found: ArrangedVersion, width: int = 80) -> list[str]:
    return lines_of("arrangement", found, width)


def way_lines(ways: Sequence[Adaptation]) -> list[str]:
    return lines_of("arrangement answer", AskedWays("guitar", "from D to G", tuple(ways)))


def singer_lines(answer: SingersAnswer) -> list[str]:
    return lines_of("arrangement answer", answer)


def busy() -> ArrangedVersion:
    return arranged(
        key="Db",
        bpm=100,
        notes="slow, since the hall echoes",
        sections=(
            ArrangedSection(name="intro", notes="guitar alone"),
            ArrangedSection(name="solo", bars=2),
            ArrangedSection(name="chorus", times=2, cue="nod"),
            ArrangedSection(name="verse", vamp=True, bpm=80),
        ),
        parts=(
            ArrangedPart(part="guitar", written_for="Bb", notes="the small one"),
            ArrangedPart(part="bass", left_out=True),
        ),
    )


def test_everything_is_said_within_eighty_columns() -> None:
    lines = to_lines(busy())
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    for said in (
        "Low Water, album, pub",
        "slow, since the hall echoes",
        "D♭ major (recorded: D major, 1 semitone down)",
        "1 q=100, 13 q=80 (recorded: q=120)",
        "plus the vamp (verse) (recorded: 16.0 s); count-in 1 bar, 2.4 s",
        "a recorded track is slowed to 83.33 %: varispeed drops it 316 cents; the key "
        "asks for -100 cents",
        "chorus x2",
        "cue: nod",
        "guitar alone",
        "a vamp of open length",
        "Note values in milliseconds at q=100",
        "bars 13–14, 6.0 s (recorded: 4.0 s), from q=80, a vamp of open length",
        "quarter 600.0 900.0 400.0",
        "same shapes: all 4 voicings stay fret for fret, 7 open strings",
        "written for B-flat instruments, in E♭ major",
        "strum: 2.5 strokes a second",
        "bass: left out",
        "Chart of guitar, written for B-flat instruments",
        "Changes from the recording",
        "guitar: capo: 2 -> 1",
        "solo is new: 2 bars",
    ):
        assert said in text, said


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_any_width_is_kept(width: int) -> None:
    found = arranged(key="C", parts=(ArrangedPart(part="guitar", capo=""),))
    lines = [line for line in to_lines(found, width) if "-second" not in line]
    assert max(map(len, lines)) <= max(width, 46)


def test_a_horn_part_says_whose_chords_it_reads() -> None:
    version = replace(VERSION, parts=(GUITAR_PART, Part(name="horn")))
    found = arranged(version=version, parts=(ArrangedPart(part="horn", written_for="F"),))
    lines = to_lines(found)
    at = lines.index("Chart of horn, written for F instruments: the chords of guitar")
    chart = [line.split() for line in lines[at : at + 9]]
    assert ["1", "│", "D", "│", "·", "│"] in chart
    assert ["│", "A", "│", "·", "│"] in chart
    assert any("written for F instruments, in A major" in line for line in lines)


def test_long_names_are_cut_to_fit() -> None:
    name = "the part after the bridge where everybody claps along and the bass walks"
    found = arranged(sections=(ArrangedSection(name=name, source="verse", times=3),))
    lines = to_lines(found)
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("the part after the br... x3  bars 1–6") for line in lines)


def test_nothing_differs_as_recorded() -> None:
    assert lines_of("arrangement answer", AskedDifferences(arranged()))[-1] == (
        "unchanged: played as recorded"
    )


def test_a_version_without_tempo_key_or_parts_can_be_shown() -> None:
    bare = replace(VERSION, key="", tempos=(), form=(), parts=())
    lines = to_lines(arranged(version=bare))
    assert lines[0] == "Low Water, album, pub"
    json.dumps(to_data(arranged(version=bare)))


def test_data_says_the_same() -> None:
    data = json.loads(json.dumps(to_data(busy())))
    assert (data["key"], data["recorded_key"], data["semitones"]) == ("Db major", "D major", -1)
    assert data["vamps"] == ["verse"]
    assert [each["name"] for each in data["sections"]] == ["intro", "solo", "chorus", "verse"]
    assert data["note_values_ms"]["quarter"] == 600
    assert data["backing"]["stretch_factor"] == 1.2
    guitar, bass, voice = data["parts"]
    assert (guitar["capo"], guitar["way"]["kept"], guitar["written_key"]) == ("1", 4, "Eb major")
    assert bass == {"part": "bass", "left_out": True}
    assert voice["way"] is None
    assert {"about": "bass", "recorded": "played", "now": "left out"} in data["differences"]


def test_ways_are_numbered_and_impossible_ones_say_why() -> None:
    ways = shapes(GUITAR_PART, rig(capo="2"), 5, "G")
    lines = way_lines(ways)
    assert lines[1].startswith("1.  same shapes, capo 7: all 4 voicings stay fret for fret")
    assert any(line.startswith("-   retuned: not possible; all strings would go") for line in lines)
    assert max(map(len, lines)) <= 80
    data = [way_data(way) for way in ways]
    first = json.loads(json.dumps(data))[0]
    assert first["highest_fret"] == 10
    assert first["frets"][0] == {
        "voicing": "D",
        "state": "kept",
        "from_nut": "x 10 9 0 8 0",
        "from_capo": "x 3 2 0 1 0",
    }


def test_a_singers_keys() -> None:
    person = Person(name="Orla", low="G3", high="C5")
    lines = singer_lines(keys_for(person, VERSION))
    assert "Db major -1 Ab3 to Bb4 1 2" in [" ".join(line.split()) for line in lines]
    assert max(map(len, lines)) <= 80
    assert "ask a teacher, or a doctor if hoarseness lasts" in " ".join(lines)
    data = json.loads(json.dumps(singer_data(keys_for(person, VERSION))))
    assert [each["steps"] for each in data["keys"]] == [0, -1, 1, -2]
    none = singer_lines(keys_for(replace(person, high="G4"), VERSION))
    assert any(line.startswith("no key fits") for line in none)


def test_a_section_is_told_to_begin_at_a_tempo_that_can_be_set() -> None:
    tempos = (TempoChange(bar=1, bpm=210), TempoChange(bar=5, bpm=101))
    lines = to_lines(arranged(bpm=160, version=replace(VERSION, tempos=tempos)))
    text = " ".join(" ".join(lines).split())
    assert "from q=76.95" in text
    assert "Note values in milliseconds at q=160" in text
    dropped = (ArrangedSection(name="chorus"), ArrangedSection(name="intro"))
    late = to_lines(arranged(sections=dropped, version=replace(VERSION, tempos=tempos)))
    assert "q=101" in " ".join(late)
    ramped = (TempoChange(bar=1, bpm=120, ramp_bpm=97, ramp_end="9"),)
    begun = arranged(sections=dropped, version=replace(VERSION, tempos=ramped))
    assert "/" not in next(line for line in to_lines(begun) if line.startswith("Note values"))


def test_a_way_that_cannot_be_says_with_which_capo() -> None:
    high = Part(name="g", voicings=(Voicing(label="E", frets="0 x x x x 21"),))
    lines = " ".join(" ".join(way_lines(shapes(high, rig(), 5))).split())
    assert "same shapes, capo 5: not possible; E: it would need fret 26" in lines
