from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.arranging.arrange import arrange
from logbook.arranging.musicxml import musicxml_tree
from logbook.arranging.transposing import (
    Interval,
    part_interval,
    read_written_for,
    written_chart,
    written_key,
    written_name,
    written_note,
)
from logbook.cli.arrange_out import only
from logbook.errors import LogbookError
from logbook.records import ArrangedPart, Arrangement, ChartEntry, Instrument, Part, Voicing
from logbook.theory.keys import parse_key
from tests.arranging.material import VERSION, arranged, log_of
from tests.sheets.drawing import lines_of


def test_a_b_flat_part_has_its_own_key_chords_and_notes() -> None:
    found = arranged(key="Db", parts=(ArrangedPart(part="guitar", written_for="Bb"),))
    chart = written_chart(found, found.parts[0])
    assert (chart.sounding_key, chart.key) == ("Db major", "Eb major")
    assert [each.chord for each in chart.chords] == ["Eb", "Cm", "Ab", "Bb", "Ab", "Bb"]
    # The D with its capo taken off by one sounds Db3 F3 Ab3 Db4 F4, written a tone higher.
    assert chart.chords[0].notes == ("Eb3", "G3", "Bb3", "Eb4", "G4")


def test_guitar_and_bass_are_written_an_octave_higher() -> None:
    found = arranged()
    guitar, bass = (written_chart(found, plan) for plan in found.parts[:2])
    assert (guitar.key, guitar.interval.semitones) == ("D major", 12)
    assert guitar.chords[0].chord == "D"
    assert guitar.chords[0].notes == ("D4", "F#4", "A4", "D5", "F#5")
    assert bass.chords[0].notes == ("D3",)  # D2 sounds
    assert part_interval(found, found.parts[2]) == Interval(0, "concert pitch")


@pytest.mark.parametrize(
    ("said", "own", "semitones"),
    [("Bb", None, 2), ("Bb", 14, 14), ("Bb", 12, 2), ("", -3, -3), ("Eb", None, 9), ("F", 7, 7),
     ("octave", None, 12), ("", None, 7), ("", 0, 0)],
)  # fmt: skip
def test_an_instrument_that_says_its_own(said: str, own: int | None, semitones: int) -> None:
    part = Part(name="horn", instrument="horn")
    version = replace(VERSION, parts=(part,))
    log, song = log_of(version)
    log = replace(log, instruments=(Instrument(name="horn", kind="horn", transposition=own),))
    plan = Arrangement(name="x", parts=(ArrangedPart(part="horn", written_for=said),))
    found = arrange(log, song, version, plan)
    assert part_interval(found, found.parts[0]).semitones == semitones


def test_a_chart_without_tuning_has_names_and_no_notes() -> None:
    part = Part(
        name="keys",
        voicings=(Voicing(label="D", frets="x"),),
        chart=(ChartEntry(bar=1, voicing="D"), ChartEntry(bar=2)),
    )
    found = arranged(version=replace(VERSION, parts=(part,)), key="E")
    chart = written_chart(found, found.parts[0])
    assert [(each.chord, each.notes) for each in chart.chords] == [("E", ()), ("", ())]


def test_a_horn_without_a_chart_reads_the_chords_of_another_part() -> None:
    part = Part(name="horn", player="Piet")
    version = replace(VERSION, parts=(*VERSION.parts, part))
    plan = (ArrangedPart(part="horn", written_for="Eb"),)
    found = arranged(version=version, key="Bb", parts=plan)
    chart = written_chart(found, found.parts[3])
    assert (chart.chords_of, chart.key) == ("guitar", "G major")
    assert [each.chord for each in chart.chords] == ["G", "Em", "C", "D", "C", "D"]
    assert all(each.notes == () for each in chart.chords)
    # At concert pitch it has none, like a voice.
    plain = arranged(version=version)
    assert written_chart(plain, plain.parts[3]).chords == ()


def test_a_horn_on_its_own_keeps_the_chords_it_borrows() -> None:
    part = Part(name="horn", player="Piet")
    version = replace(VERSION, parts=(*VERSION.parts, part))
    plan = (ArrangedPart(part="horn", written_for="Bb"),)
    alone = only(arranged(version=version, parts=plan), ["horn"])
    assert [each.name for each in alone.parts] == ["horn"]
    chart = written_chart(alone, alone.parts[0])
    assert [each.chord for each in chart.chords] == ["E", "C#m", "A", "B", "A", "B"]
    assert "Chart of horn" in "\n".join(lines_of("arrangement", alone))
    symbols = musicxml_tree(alone).findall("part/measure/harmony/root/root-step")
    assert [each.text for each in symbols] == ["E", "C", "A", "B", "A", "B"]


def test_a_horn_reads_the_chords_of_a_part_that_is_left_out() -> None:
    part = Part(name="horn", player="Piet")
    version = replace(VERSION, parts=(VERSION.parts[0], part))
    plan = (ArrangedPart(part="horn", written_for="F"), ArrangedPart(part="guitar", left_out=True))
    found = arranged(version=version, parts=plan)
    assert [each.chord for each in written_chart(found, found.parts[1]).chords][:2] == ["A", "F#m"]


def test_names_are_spelled_by_the_written_key() -> None:
    key = parse_key("E")
    assert written_key(key, Interval(9, "")).name == "Db major"
    assert written_name("C#m7/B", key, Interval(9, "")) == "Bbm7/Ab"
    assert written_name("Amaj", key, Interval(12, "")) == "Amaj"
    assert written_note(61, parse_key("Db"), Interval(2, "")) == "Eb4"
    assert written_note(61, None, Interval(0, "")) == "C#4"


@pytest.mark.parametrize(
    ("text", "kept"),
    [("B-flat", "Bb"), ("eb", "Eb"), ("E♭", "Eb"), ("f", "F"), ("Octave", "octave"),
     ("concert", ""), ("C", ""), ("", "")],
)  # fmt: skip
def test_read_written_for(text: str, kept: str) -> None:
    assert read_written_for(text) == kept


def test_an_instrument_nobody_writes_for() -> None:
    with pytest.raises(LogbookError, match='"H" is not a transposition; write Bb, Eb, F, octave'):
        read_written_for("H")


def test_a_part_left_out_has_no_chart() -> None:
    found = arranged(parts=(ArrangedPart(part="bass", left_out=True),))
    with pytest.raises(LogbookError, match="bass is left out"):
        written_chart(found, found.parts[1])
