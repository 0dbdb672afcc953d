"""The strings room against published figures: open strings, note frequencies, fret distances."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from logbook.strings.frets import place_frets, read_frets
from logbook.strings.instruments import distance_table_mm, fret_distance_mm
from logbook.strings.sounding import sounding_midi
from logbook.strings.tunings import find_tuning, string_hz

FINGERINGS = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"


# Note numbers: MIDI 1.0 Detailed Specification (MIDI Association), middle C = 60; equal
# temperament around A4 = 440 Hz, the reference of ISO 16:1975. The open strings of a guitar are
# common practice, no source; the frequencies follow from the two standards.
@pytest.mark.parametrize(
    ("index", "name", "midi", "hz"),
    [
        (0, "E2", 40, 82.41),
        (1, "A2", 45, 110.00),
        (2, "D3", 50, 146.83),
        (3, "G3", 55, 196.00),
        (4, "B3", 59, 246.94),
        (5, "E4", 64, 329.63),
    ],
)
def test_open_strings_of_a_standard_guitar(index: int, name: str, midi: int, hz: float) -> None:
    tuning = find_tuning("standard")
    assert tuning.open_names[index] == name
    assert tuning.open_midi[index] == midi
    assert string_hz(tuning, index)[0] == pytest.approx(hz, abs=0.005)


# Open strings of other instruments: common practice, no source.
@pytest.mark.parametrize(
    ("name", "midi"),
    [
        ("bass", (28, 33, 38, 43)),
        ("five-string bass", (23, 28, 33, 38, 43)),
        ("mandolin", (55, 62, 69, 76)),
        ("ukulele", (67, 60, 64, 69)),
        ("banjo", (67, 50, 55, 59, 62)),
        ("seven-string", (35, 40, 45, 50, 55, 59, 64)),
        ("DADGAD", (38, 45, 50, 55, 57, 62)),
    ],
)
def test_open_strings_of_other_instruments(name: str, midi: tuple[int, ...]) -> None:
    assert find_tuning(name).open_midi == midi


# The rule of the twelfth root of two, L(1 - 2^(-n/12)), is equal temperament itself. The figures
# follow from it by hand: half the string at fret 12, and at fret 7 a string 2^(-7/12) as long.
def test_fret_distances() -> None:
    assert fret_distance_mm(648.0, 0) == 0.0
    assert fret_distance_mm(648.0, 1) == pytest.approx(36.37, abs=0.005)
    assert fret_distance_mm(648.0, 12) == pytest.approx(324.0)
    assert fret_distance_mm(648.0, 24) == pytest.approx(486.0)
    assert fret_distance_mm(650.0, 7) == pytest.approx(216.18, abs=0.005)


# The luthiers' old rule of eighteen puts the first fret at 1/17.817 of the length (from memory).
def test_the_first_fret_by_the_luthiers_constant() -> None:
    table = distance_table_mm(1000.0, 12)
    assert table[1] == pytest.approx(1000.0 / 17.817, abs=0.001)
    for before, after in pairwise(table):
        assert after - before == pytest.approx((1000.0 - before) / 17.817, abs=0.001)


# The open data set in tests/data/chord-fingerings (MIT; its README names the source): in each of
# its 2,069 fingerings the frets give exactly the note numbers listed.
def test_every_fingering_of_the_data_set_sounds_its_notes() -> None:
    tuning = find_tuning("standard")
    checked = 0
    for chords in json.loads(FINGERINGS.read_text())["chords"].values():
        for chord in chords:
            for row in chord["positions"]:
                shift = row["baseFret"] - 1
                line = " ".join(
                    "x" if fret < 0 else str(fret + shift if fret else 0) for fret in row["frets"]
                )
                notes = sounding_midi(place_frets(read_frets(line, strings=6), tuning), tuning)
                assert [note for note in notes if note is not None] == row["midi"]
                checked += 1
    assert checked == 2069
