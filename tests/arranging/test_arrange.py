from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.arranging.arrange import arrange, find_version
from logbook.errors import LogbookError
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    ChartEntry,
    Comp,
    Double,
    Instrument,
    Part,
    Song,
    Take,
    Tuning,
    Voicing,
)
from logbook.records.part_view import places
from tests.arranging.material import GUITAR_PART, VERSION, arranged, log_of


def test_it_is_a_version_beside_the_recorded_one() -> None:
    found = arranged(key="C", bpm=100, notes="lower")
    assert [version.name for version in found.song.versions] == ["album", "album, pub"]
    version = found.version
    assert (version.key, version.notes, version.melody_low, version.melody_high) == (
        "C", "lower", "G3", "A4",
    )  # fmt: skip
    assert [part.name for part in version.parts] == ["guitar", "bass", "voice"]
    # Everything that takes a part where it stands can take an arranged one.
    standing = [place.version.name for place in places(found.log)]
    assert standing.count("album, pub") == 3


def test_what_belongs_to_the_record_stays_there() -> None:
    part = replace(
        GUITAR_PART,
        heard=True,
        takes=(Take(number=1),),
        comps=(Comp(),),
    )
    version = replace(VERSION, isrc="XXA002600001", date="2026-05-02", parts=(part,))
    found = arranged(version=version)
    assert (found.version.isrc, found.version.date, found.version.arrangements) == ("", "", ())
    (guitar,) = found.version.parts
    assert (guitar.takes, guitar.comps, guitar.heard) == ((), (), None)
    assert found.recorded == version


def test_nothing_asked_for_changes_nothing_that_is_played() -> None:
    found = arranged(Arrangement(name=""))
    assert found.version.name == "album"
    recorded = {part.name: part for part in VERSION.parts}
    for part in found.version.parts:
        was = recorded[part.name]
        assert (part.voicings, part.chart, part.capo, part.tuning) == (
            was.voicings, was.chart, was.capo, was.tuning,
        )  # fmt: skip


def test_same_shapes_keep_frets_from_the_capo_as_written() -> None:
    guitar = arranged(key="E").version.parts[0]
    assert guitar.capo == "4"
    assert guitar.shape_key == "C"
    assert [(v.label, v.frets, v.fingers) for v in guitar.voicings][:2] == [
        ("E", "x 3 2 0 1 0", "- 3 2 - 1 -"),
        ("C#m", "x 0 2 2 1 0", ""),
    ]
    assert guitar.voicings[0].ornaments == "hammer-on 4 0-2"


def test_frets_counted_from_the_nut_are_written_anew() -> None:
    part = replace(
        GUITAR_PART,
        counted="nut",
        voicings=(Voicing(label="D", frets="x 5 4 0 3 0", ornaments="hammer-on 4 0-4"),),
        chart=(),
        patterns=(),
    )
    guitar = arranged(version=replace(VERSION, parts=(part,)), key="E").version.parts[0]
    assert guitar.voicings[0].frets == "x 7 6 0 5 0"
    assert guitar.voicings[0].ornaments == "hammer-on 4 0-6"


def test_retuned_strings_are_logged_with_it() -> None:
    found = arranged(key="C", parts=(ArrangedPart(part="guitar", way="retuned"),))
    guitar = found.version.parts[0]
    assert (guitar.tuning, guitar.capo, guitar.shape_key) == ("whole step down", "2", "")
    tuning = found.place(guitar).tuning
    assert tuning is not None
    assert tuning.text == "D2 G2 C3 F3 A3 D4"
    assert guitar.voicings[0].frets == GUITAR_PART.voicings[0].frets


def test_an_unusual_retuning_gets_a_record_of_its_own() -> None:
    found = arranged(key="Eb", parts=(ArrangedPart(part="guitar", way="retuned"),))
    guitar = found.version.parts[0]
    assert guitar.tuning == "standard, all up 1"
    assert found.log.tunings == (Tuning(name="standard, all up 1", strings="F2 Bb2 Eb3 Ab3 C4 F4"),)


def test_another_instrument_with_its_own_strings() -> None:
    log, song = log_of()
    log = replace(
        log,
        instruments=(*log.instruments, Instrument(name="uke", kind="ukulele", tuning="ukulele")),
    )
    plan = Arrangement(
        name="beach", parts=(ArrangedPart(part="guitar", instrument="uke", capo=""),)
    )
    found = arrange(log, song, VERSION, plan)
    guitar = found.version.parts[0]
    assert guitar.instrument == "uke"
    assert all(len(each.frets.split()) == 4 for each in guitar.voicings)
    tuning = found.place(guitar).tuning
    assert tuning is not None
    assert tuning.name == "ukulele"


def test_who_plays_and_notes() -> None:
    found = arranged(
        parts=(ArrangedPart(part="bass", player="Orla", notes="with a pick"),),
    )
    bass = found.version.parts[1]
    assert (bass.player, bass.notes) == ("Orla", "with a pick")


def test_parts_left_out_and_their_doubles() -> None:
    part = replace(GUITAR_PART, doubled="doubled", doubles=(Double(part="bass"),))
    version = replace(VERSION, parts=(part, VERSION.parts[1]))
    found = arranged(version=version, parts=(ArrangedPart(part="bass", left_out=True),))
    (guitar,) = found.version.parts
    assert (guitar.doubled, guitar.doubled_why, guitar.doubles) == (
        "not doubled", "bass is left out", (),
    )  # fmt: skip
    assert "guitar was doubled by bass, which is left out" in found.remarks


def test_sections_carry_their_notes_and_cues() -> None:
    found = arranged(
        sections=(
            ArrangedSection(name="intro", notes="guitar alone"),
            ArrangedSection(name="verse", vamp=True, cue="nod"),
        )
    )
    assert [section.notes for section in found.version.form] == [
        "guitar alone", "vamp till cue, nod",
    ]  # fmt: skip


def test_a_voicing_that_cannot_be_read_is_remarked_on_and_stays() -> None:
    part = replace(
        GUITAR_PART, voicings=(*GUITAR_PART.voicings, Voicing(label="odd", frets="x x 1"))
    )
    found = arranged(version=replace(VERSION, parts=(part,)), key="E")
    assert any("voicing odd" in remark for remark in found.remarks)
    assert found.version.parts[0].voicings[-1].frets == "x x 1"
    assert found.version.parts[0].capo == "4"


@pytest.mark.parametrize(
    ("key", "says"),
    [
        ("G#", "there is no key of G# major; write Ab major"),
        ("H", "'H' is not a key"),
        ("Dm", "the recording is in D major, .* write a major key, such as D major"),
        ("D dorian", "the recording is in D major, .* write a major key, such as D major"),
    ],
)
def test_a_key_that_cannot_be(key: str, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        arranged(key=key)


def test_a_key_where_the_records_is_not_said() -> None:
    with pytest.raises(LogbookError, match="the way to E major is unknown"):
        arranged(version=replace(VERSION, key=""), key="E")


def test_the_same_pitches_spelled_otherwise() -> None:
    version = replace(VERSION, key="F#", parts=(Part(name="chords", voicings=()),))
    found = arranged(version=version, key="Gb")
    assert (found.steps, found.version.key) == (0, "Gb")


def test_find_version() -> None:
    song = Song(title="S", versions=(VERSION, replace(VERSION, name="radio")))
    assert find_version(song, "Radio").name == "radio"
    with pytest.raises(LogbookError, match="has 2 versions; say which: album, radio"):
        find_version(song)
    with pytest.raises(LogbookError, match='no version "demo"'):
        find_version(song, "demo")
    with pytest.raises(LogbookError, match="no version yet"):
        find_version(Song(title="S"))


def test_what_a_hand_is_called_stays_with_the_hand() -> None:
    """A label C that sounds D is the shape's name; under another capo it is a C shape still."""
    named = (
        Voicing(label="C", frets="x 3 2 0 1 0", name="D"),
        Voicing(label="Am", frets="x 0 2 2 1 0", name="Bm"),
    )
    chart = (ChartEntry(bar=1, voicing="C"), ChartEntry(bar=2, voicing="Am"))
    part = replace(GUITAR_PART, voicings=named, chart=chart)
    version = replace(VERSION, parts=(part,))
    kept = arranged(key="E", version=version).version.parts[0]
    assert [(each.label, each.name) for each in kept.voicings] == [("C", "E"), ("Am", "C#m")]
    assert [each.voicing for each in kept.chart] == ["C", "Am"]
    said = (ArrangedPart(part="guitar", way="new shapes"),)
    new = arranged(key="E", version=version, parts=said).version.parts[0]
    assert [(each.label, each.name) for each in new.voicings] == [("E", "E"), ("C#m", "C#m")]
    assert [each.voicing for each in new.chart] == ["E", "C#m"]
    same_key = (ArrangedPart(part="guitar", capo="0"),)
    off = arranged(version=version, parts=same_key).version.parts[0]
    assert [(each.label, each.name) for each in off.voicings] == [("D", "D"), ("Bm", "Bm")]
    assert [each.voicing for each in off.chart] == ["D", "Bm"]
