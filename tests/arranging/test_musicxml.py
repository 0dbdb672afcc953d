from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from logbook.arranging.midi import midi_file
from logbook.arranging.musicxml import musicxml_text, musicxml_tree
from logbook.arranging.xml_chords import harmony_of, kind_of
from logbook.arranging.xml_frames import frame_of
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    ChartEntry,
    MeterChange,
    Part,
    TempoChange,
    Voicing,
)
from logbook.records.context import tempo_map_of
from logbook.strings.capo import read_capos
from logbook.strings.frets import place_frets, read_fingers, read_frets
from logbook.strings.tunings import find_tuning
from logbook.theory.keys import ALL_KEYS, Key
from logbook.timing.bars import BarPoint
from tests.arranging.material import GUITAR_PART, VERSION, arranged
from tests.musicxml_schema import assert_valid

Element = ElementTree.Element


def part_of(root: Element, number: int = 1) -> Element:
    found = root.find(f"part[@id='P{number}']")
    assert found is not None
    return found


def text(parent: Element, path: str) -> str:
    found = parent.find(path)
    assert found is not None, path
    return found.text or ""


def test_a_part_says_key_meter_capo_strings_and_transposition() -> None:
    root = musicxml_tree(arranged(key="E"), notes=False)
    first = part_of(root)[0]
    assert (text(first, "attributes/key/fifths"), text(first, "attributes/key/mode")) == (
        "4", "major",
    )  # fmt: skip
    assert text(first, "attributes/time/beats") == "4"
    assert text(first, "attributes/staff-details/capo") == "4"
    tunings = first.findall("attributes/staff-details/staff-tuning")
    assert [text(t, "tuning-step") + text(t, "tuning-octave") for t in tunings] == [
        "E2", "A2", "D3", "G3", "B3", "E4",
    ]  # fmt: skip
    assert text(first, "attributes/transpose/octave-change") == "-1"
    voice = part_of(root, 3)[0]
    assert voice.find("attributes/transpose") is None


@pytest.mark.parametrize(
    ("said", "key", "fifths", "transpose"),
    [
        ("Bb", "Db", "-3", ("-1", "-2", None)),
        ("Eb", "C", "3", ("-5", "-9", None)),
        ("F", "C", "1", ("-4", "-7", None)),
        ("octave", "C", "0", ("0", "0", "-1")),
    ],
)
def test_transposing_parts(
    said: str, key: str, fifths: str, transpose: tuple[str, str, str | None]
) -> None:
    root = musicxml_tree(arranged(key=key, parts=(ArrangedPart(part="guitar", written_for=said),)))
    first = part_of(root)[0]
    assert text(first, "attributes/key/fifths") == fifths
    element = first.find("attributes/transpose")
    assert element is not None
    octave = element.find("octave-change")
    assert (
        text(element, "diatonic"),
        text(element, "chromatic"),
        None if octave is None else octave.text,
    ) == transpose


def test_a_horn_has_the_chords_of_another_part_without_its_frames() -> None:
    version = replace(VERSION, parts=(GUITAR_PART, Part(name="horn")))
    root = musicxml_tree(
        arranged(version=version, parts=(ArrangedPart(part="horn", written_for="Bb"),))
    )
    horn = part_of(root, 2)
    roots = [each.text for each in horn.iter("root-step")]
    assert roots == ["E", "C", "A", "B", "A", "B"]
    assert horn.find(".//frame") is None
    assert part_of(root).find(".//frame") is not None


def test_bars_are_full_and_chords_stand_at_their_beats() -> None:
    root = musicxml_tree(arranged(), notes=False)
    divisions = int(text(part_of(root)[0], "attributes/divisions"))
    for part in root.findall("part"):
        assert [each.get("number") for each in part] == [str(n) for n in range(1, 9)]
        for measure in part:
            total = sum(int(text(note, "duration")) for note in measure.findall("note"))
            assert total == 4 * divisions
    bar = part_of(root)[6]
    order = [
        child.tag if child.tag != "note" else text(child, "duration")
        for child in bar
        if child.tag in ("harmony", "note")
    ]
    assert order == ["harmony", str(divisions), str(divisions), "harmony"] + [str(divisions)] * 2


def test_slashes_where_it_plays_and_whole_rests_where_not() -> None:
    part = replace(GUITAR_PART, chart=(*GUITAR_PART.chart[:2], ChartEntry(bar=5)))
    root = musicxml_tree(arranged(version=replace(VERSION, parts=(part,))), notes=False)
    styles = {
        bar.get("number"): slash.get("type")
        for bar in part_of(root)
        for slash in bar.findall("attributes/measure-style/slash")
    }
    assert styles == {"1": "start", "5": "stop"}
    rest = part_of(root)[4].find("note/rest")
    assert rest is not None
    assert rest.get("measure") == "yes"


def test_tempos_ramps_vamps_and_marks() -> None:
    root = musicxml_tree(
        arranged(
            sections=(
                ArrangedSection(name="intro", bpm=100),
                ArrangedSection(name="verse", ramp=True),
                ArrangedSection(name="chorus", bpm=60, vamp=True, cue="nod"),
            )
        )
    )
    part = part_of(root)
    sounds = {
        bar.get("number"): sound.get("tempo")
        for bar in part
        for sound in bar.findall("direction/sound")
    }
    assert sounds == {"1": "100", "3": "100", "5": "60"}
    words = [each.text for each in part.iter("words")]
    assert words == ["rit. to q=60", "vamp till cue: nod"]
    assert [each.text for each in part.iter("rehearsal")] == ["intro", "verse", "chorus"]
    assert not list(part_of(root, 2).iter("rehearsal"))


def test_a_pick_up_is_an_implicit_bar_with_the_tempo() -> None:
    version = replace(
        VERSION,
        pickup_beats="1",
        tempos=(TempoChange(bar=1, bpm=80),),
        meters=(MeterChange(bar=1, meter="3/4"),),
    )
    first = part_of(musicxml_tree(arranged(version=version), notes=False))[0]
    assert (first.get("number"), first.get("implicit")) == ("0", "yes")
    assert text(first, "note/duration") == text(first, "attributes/divisions")
    sound = first.find("direction/sound")
    assert sound is not None
    assert sound.get("tempo") == "80"


def test_dotted_and_felt_beats() -> None:
    version = replace(
        VERSION,
        meters=(MeterChange(bar=1, meter="6/8"),),
        tempos=(TempoChange(bar=1, bpm=60),),
        parts=(replace(GUITAR_PART, patterns=(), chart=(ChartEntry(bar=1, voicing="D"),)),),
    )
    first = part_of(musicxml_tree(arranged(version=version), notes=False))[0]
    assert text(first, "direction/direction-type/metronome/beat-unit") == "quarter"
    assert first.find("direction/direction-type/metronome/beat-unit-dot") is not None
    assert text(first, "note/type") == "quarter"
    assert len(first.findall("note")) == 2


def frame(frets: str, capo: str = "", fingers: str = "", from_nut: bool = False) -> Element:
    line = read_frets(frets)
    position = place_frets(line, find_tuning("standard"), read_capos(capo))
    fingering = read_fingers(fingers) if fingers else (None,) * len(position)
    return frame_of(position, fingering, from_nut=from_nut)


def frets_of(element: Element) -> dict[int, int]:
    return {
        int(text(note, "string")): int(text(note, "fret")) for note in element.findall("frame-note")
    }


def test_a_frame_counts_from_the_capo() -> None:
    found = frame("x 5 4 0 3 0", capo="2", fingers="- 3 2 - 1 -")
    assert frets_of(found) == {5: 3, 4: 2, 3: 0, 2: 1, 1: 0}
    assert found.find("first-fret") is None
    fingering = {text(n, "string"): n.findtext("fingering") for n in found.findall("frame-note")}
    assert fingering == {"5": "3", "4": "2", "3": None, "2": "1", "1": None}


def test_a_frame_up_the_neck_has_a_first_fret_and_a_barre() -> None:
    found = frame("5 7 7 6 5 5", fingers="1 3 4 2 1 1")
    assert (text(found, "first-fret"), text(found, "frame-frets")) == ("5", "4")
    barres = {
        text(note, "string"): note.find("barre").get("type")
        for note in found.findall("frame-note")
        if note.find("barre") is not None
    }
    assert barres == {"6": "start", "1": "stop"}


def test_a_partial_capo_is_counted_from_the_nut() -> None:
    found = frame("0 4 0 0 0 0", capo="2 on strings 3-5", from_nut=True)
    assert frets_of(found) == {6: 0, 5: 4, 4: 2, 3: 2, 2: 0, 1: 0}
    part = replace(
        GUITAR_PART, capo="2 on strings 3-5", counted="nut",
        voicings=(Voicing(label="E", frets="0 0 0 0 0 0"),),
        chart=(ChartEntry(bar=1, voicing="E"),),
    )  # fmt: skip
    root = musicxml_tree(arranged(version=replace(VERSION, parts=(part,))))
    assert root.find(".//capo") is None
    written = root.find(".//frame")
    assert written is not None
    assert frets_of(written) == {6: 0, 5: 2, 4: 2, 3: 2, 2: 0, 1: 0}


@pytest.mark.parametrize(
    ("degrees", "kind", "changes"),
    [
        ("R 3 5", "major", ()),
        ("R b3 5 b7", "minor-seventh", ()),
        ("R 3 5 9", "major", (("add", 9, 0),)),
        ("R 3 b5 b7", "dominant", (("alter", 5, -1),)),
        ("R 3 5 b7 b9", "dominant", (("add", 9, -1),)),
        ("R 4 5 b7", "dominant", (("subtract", 3, 0), ("add", 4, 0))),
        ("R 3 5 b7 9 13", "dominant-ninth", (("add", 13, 0),)),
    ],
)
def test_kinds_and_degrees(
    degrees: str, kind: str, changes: tuple[tuple[str, int, int], ...]
) -> None:
    assert kind_of(tuple(degrees.split())) == (kind, changes)


def test_what_is_no_chord() -> None:
    assert text(harmony_of("N.C.", None), "kind") == "none"
    other = harmony_of("jangle", None)
    found = other.find("kind")
    assert found is not None
    assert (found.text, found.get("text")) == ("other", "jangle")


def test_names_from_people_cannot_break_the_file() -> None:
    part = Part(name='<b>&"x\x00\x1b', chart=())
    version = replace(VERSION, parts=(part,))
    found = arranged(version=version, sections=(ArrangedSection(name="a<&>\x07", bars=1),))
    root = ElementTree.fromstring(musicxml_text(found).encode())
    assert root.findtext("part-list/score-part/part-name") == '<b>&"x'
    assert root.findtext(".//rehearsal") == "a<&>"


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_every_key_can_be_written(key: Key) -> None:
    version = replace(VERSION, key=key.short, parts=(GUITAR_PART,))
    root = musicxml_tree(arranged(version=version))
    assert root.findtext(".//fifths") == str(key.fifths)
    file = midi_file(arranged(version=version))
    assert [m.key for m in file.tracks[0] if m.type == "key_signature"] == [key.short]


def test_a_version_without_parts_is_a_score_all_the_same() -> None:
    root = musicxml_tree(arranged(version=replace(VERSION, parts=())))
    assert root.findtext("part-list/score-part/part-name") == "chart"
    assert len(part_of(root)) == 8


def test_without_a_tempo_none_is_written() -> None:
    root = musicxml_tree(arranged(version=replace(VERSION, tempos=())))
    assert root.find(".//sound") is None


def test_the_first_tempo_stands_where_the_pick_up_begins() -> None:
    root = musicxml_tree(arranged(bpm=90, version=replace(VERSION, pickup_beats="3/8")))
    first = part_of(root)[0]
    assert first.get("number") == "0"
    assert text(first, "direction/direction-type/metronome/per-minute") == "90"
    assert first.find("direction/offset") is None


def test_a_rest_in_a_pick_up_is_as_long_as_the_pick_up() -> None:
    """A rest of a whole bar would be read as a full one, and the part fall behind."""
    root = musicxml_tree(arranged(version=replace(VERSION, pickup_beats="3/8")), notes=False)
    divisions = int(text(part_of(root, 2)[0], "attributes/divisions"))
    for number in (1, 2, 3):
        first = part_of(root, number)[0]
        assert first.find("note/rest[@measure]") is None
        told = [int(text(note, "duration")) for note in first.findall("note")]
        assert sum(told) == divisions * 3 / 2


def test_a_slowing_is_told_in_a_number_a_metronome_has() -> None:
    tempos = (TempoChange(bar=1, bpm=120), TempoChange(bar=3, bpm=120, ramp_bpm=101, ramp_end="5"))
    root = musicxml_tree(arranged(bpm=97, version=replace(VERSION, tempos=tempos)))
    words = [each.text for each in root.iter("words")]
    assert words == ["rit. to q=81.64"]


def test_a_ramp_between_two_writings_of_one_tempo_is_no_slowing() -> None:
    ramp = TempoChange(bar=1, bpm=120, ramp_bpm=60, ramp_unit="1/2", ramp_end="3")
    root = musicxml_tree(arranged(version=replace(VERSION, tempos=(ramp,))))
    assert [each.text for each in root.iter("words")] == []


def test_a_fretted_part_has_its_notes_a_clef_with_an_octave_and_tablature() -> None:
    root = musicxml_tree(arranged())
    first = part_of(root)[0]
    assert text(first, "attributes/staves") == "2"
    clefs = first.findall("attributes/clef")
    assert [(text(c, "sign"), c.findtext("clef-octave-change")) for c in clefs] == [
        ("G", "-1"), ("TAB", None),
    ]  # fmt: skip
    assert first.find("attributes/transpose") is None
    assert text(first, "attributes/staff-details/staff-lines") == "6"
    notes = [n for n in first.findall("note") if n.find("pitch") is not None]
    tab = [n for n in notes if text(n, "staff") == "2"][:5]
    # The first stroke of a D, a C shape under capo 2: frets from the capo.
    assert [text(n, "notations/technical/string") for n in tab] == ["5", "4", "3", "2", "1"]
    assert [text(n, "notations/technical/fret") for n in tab] == ["3", "2", "0", "1", "0"]
    clefs = part_of(root, 2)[0].findall("attributes/clef")
    assert [(text(c, "sign"), c.findtext("clef-octave-change")) for c in clefs] == [
        ("F", "-1"), ("TAB", None),
    ]  # fmt: skip


def test_moves_are_in_the_score() -> None:
    sections = (
        ArrangedSection(name="verse", source="verse", moves="segno, rit 1 bar to 60"),
        ArrangedSection(name="chorus", source="chorus", moves="D.S., up 2, ring"),
    )
    text_of_it = musicxml_text(arranged(sections=sections))
    assert_valid(text_of_it)
    root = ElementTree.fromstring(text_of_it.encode())
    part = part_of(root)
    keys = {m.get("number"): text(m, "attributes/key/fifths") for m in part
            if m.find("attributes/key") is not None}  # fmt: skip
    assert keys == {"1": "2", "3": "4", "7": "2", "9": "4"}
    words = [each.text for each in part.iter("words")]
    assert "segno; rit. in the last bar, to 60" in words
    assert "up a tone; let the last chord ring; then D.S." in words
    # Four beats that slow down from 120 to 60, evenly in time: their sounds last as the bar does.
    steps = [float(each.get("tempo", "0")) for each in part[1].findall("sound")]
    assert len(steps) == 4
    assert steps == sorted(steps, reverse=True)
    bars = tempo_map_of(arranged(sections=sections).version)
    assert bars is not None
    assert sum(60 / each for each in steps) == pytest.approx(
        float(bars.seconds_at(BarPoint(3)) - bars.seconds_at(BarPoint(2)))
    )
    assert part[-1].find(".//fermata") is not None


def test_a_fade_is_a_wedge_over_its_bars_in_every_part() -> None:
    sections = (
        ArrangedSection(name="verse", source="verse"),
        ArrangedSection(name="verse", source="verse", moves="fade 2 bars"),
    )
    written = musicxml_text(arranged(sections=sections))
    assert_valid(written)
    root = ElementTree.fromstring(written.encode())
    for part in root.findall("part"):
        wedges = [(at, wedge.get("type")) for at, measure in enumerate(part, start=1 - len(part))
                  for wedge in measure.iter("wedge")]  # fmt: skip
        assert wedges == [(-1, "diminuendo"), (0, "stop")]
    assert any("fade out over the last 2 bars" in (e.text or "") for e in root.iter("words"))
    plain = musicxml_text(arranged(sections=sections[:1]))
    assert "<wedge" not in plain


@pytest.mark.parametrize(
    ("to", "wanted"),
    [("D", "B D# F# A"), ("C", "A C# E G"), ("Eb", "C E G Bb")],
)
def test_the_notes_of_a_chord_are_spelled_by_it(to: str, wanted: str) -> None:
    """The dominant of the sixth degree keeps its raised third: B7 in D, A7 in C, C7 in E flat."""
    b7 = Voicing(label="B7", frets="x 2 1 2 0 2", counted="nut")
    guitar = replace(
        GUITAR_PART,
        capo="",
        shape_key="",
        voicings=(b7,),
        chart=(ChartEntry(bar=1, voicing="B7"),),
        patterns=(),
        takes=(),
        comps=(),
        overdubs=(),
        doubles=(),
    )
    version = replace(VERSION, key="D", parts=(guitar,))
    root = musicxml_tree(arranged(version=version, key=to))
    steps = {
        text(pitch, "step") + {"1": "#", "-1": "b", "": ""}[pitch.findtext("alter") or ""]
        for pitch in part_of(root)[0].iter("pitch")
    }
    assert steps == set(wanted.split())
