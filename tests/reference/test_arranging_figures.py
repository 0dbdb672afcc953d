"""Figures of the arranging room against worked examples from outside."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from logbook.arranging.lengths import backing_of, delay_times
from logbook.arranging.midi import midi_bytes
from logbook.arranging.transposing import WRITTEN_FOR, Interval, written_key, written_note
from logbook.theory.keys import parse_key
from tests.arranging.material import VERSION, arranged


# Source: a beat lasts 60000 / tempo milliseconds (arithmetic); the rounded values for 120 and 90
# are those of delay-time tables in common practice, no source.
@pytest.mark.parametrize(
    ("bpm", "note", "milliseconds"),
    [
        (120, "quarter", 500.0),
        (120, "eighth", 250.0),
        (120, "dotted eighth", 375.0),
        (120, "sixteenth", 125.0),
        (120, "eighth triplet", 166.667),
        (120, "quarter triplet", 333.333),
        (120, "half", 1000.0),
        (90, "quarter", 666.667),
        (90, "dotted quarter", 1000.0),
        (90, "eighth triplet", 222.222),
        (60, "whole", 4000.0),
    ],
)
def test_note_values(bpm: float, note: str, milliseconds: float) -> None:
    values = {each.name: float(each.milliseconds) for each in delay_times(arranged(bpm=bpm))}
    assert values[note] == pytest.approx(milliseconds, abs=0.0005)


# Source: 1200 log2 r; the cents of just intervals as tabled in A. J. Ellis's appendix to
# Helmholtz, On the Sensations of Tone (2:1 1200, 3:2 702, 4:3 498, 5:4 386, 9:8 204), from memory.
@pytest.mark.parametrize(
    ("bpm", "cents"), [(240, 1200), (180, 702), (160, 498), (150, 386), (135, 204), (60, -1200)]
)
def test_cents_of_a_track_only_played_faster_or_slower(bpm: float, cents: int) -> None:
    found = backing_of(arranged(bpm=bpm))
    assert found is not None
    assert round(found.cents) == cents
    assert float(found.factor) == pytest.approx(120 / bpm)


# From memory: the standing transpositions of orchestration handbooks. Written C sounds B-flat on
# B-flat instruments, E-flat on E-flat ones, F on a horn in F; guitar and double bass sound an
# octave lower than written.
@pytest.mark.parametrize(
    ("instrument", "sounds"), [("Bb", "Bb3"), ("Eb", "Eb3"), ("F", "F3"), ("octave", "C3")]
)
def test_what_a_written_middle_c_sounds(instrument: str, sounds: str) -> None:
    semitones = WRITTEN_FOR[instrument]
    names = {"Bb3": 58, "Eb3": 51, "F3": 53, "C3": 48}
    assert written_note(names[sounds], None, Interval(semitones, "")) == "C4"


# From memory: concert key against written key, as on band charts.
@pytest.mark.parametrize(
    ("concert", "instrument", "written"),
    [
        ("Bb", "Bb", "C"), ("Eb", "Bb", "F"), ("Db", "Bb", "Eb"), ("A", "Bb", "B"),
        ("Eb", "Eb", "C"), ("Bb", "Eb", "G"), ("F", "Eb", "D"), ("C", "Eb", "A"),
        ("F", "F", "C"), ("Eb", "F", "Bb"), ("C", "F", "G"), ("G", "octave", "G"),
        ("Cm", "Bb", "Dm"), ("Fm", "Eb", "Dm"),
    ],
)  # fmt: skip
def test_written_keys(concert: str, instrument: str, written: str) -> None:
    interval = Interval(WRITTEN_FOR[instrument], "")
    assert written_key(parse_key(concert), interval).short == written


# Source: Standard MIDI Files 1.0 (MIDI Association): set tempo is FF 51 03 and microseconds a
# quarter in three bytes, 07 A1 20 being 500000, 120 a minute; time signature is FF 58 04 nn dd cc
# bb with dd a power of two, 06 03 24 08 for 6/8 (both the specification's own examples, from
# memory); key signature is FF 59 02 sf mi. The header is MThd 00 00 00 06, format, tracks, ticks.
@pytest.mark.parametrize(
    ("bpm", "data"), [(120, "07 A1 20"), (60, "0F 42 40"), (100, "09 27 C0"), (140, "06 8A 1B")]
)
def test_tempo_bytes(bpm: float, data: str) -> None:
    written = midi_bytes(arranged(bpm=bpm))
    assert bytes.fromhex(f"FF 51 03 {data}") in written
    assert written.startswith(b"MThd\x00\x00\x00\x06\x00\x01")


def test_meter_and_key_bytes() -> None:
    written = midi_bytes(arranged(key="C"))
    assert bytes.fromhex("FF 58 04 04 02 18 08") in written
    assert bytes.fromhex("FF 59 02 00 00") in written
    flats = midi_bytes(arranged(key="Ab"))
    assert bytes.fromhex("FF 59 02 FC 00") in flats  # four flats
    from logbook.records import MeterChange

    version = replace(VERSION, meters=(MeterChange(bar=1, meter="6/8"),), parts=())
    assert bytes.fromhex("FF 58 04 06 03 24 08") in midi_bytes(arranged(version=version))
    assert io.BytesIO(written).read(4) == b"MThd"
