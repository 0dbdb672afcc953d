from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.records import ChartEntry, Part, Voicing
from logbook.records.chord_names import sounding_name
from logbook.strings.capo import read_capos
from logbook.strings.tunings import find_tuning
from tests.arranging.material import VERSION, arranged

STANDARD = find_tuning("standard")


@pytest.mark.parametrize(
    ("label", "name", "frets", "capo", "key", "sounds"),
    [
        ("Cm7", "", "x 0 2 0 1 0", "3", "Eb", "Cm7"),  # named as it sounds
        ("Am7", "", "x 0 2 0 1 0", "3", "Eb", "Cm7"),  # named by its shape
        ("high one", "Am7", "x 0 2 0 1 0", "3", "Eb", "Cm7"),  # the same in the name
        ("Am7", "Cm7", "x 0 2 0 1 0", "3", "Eb", "Cm7"),  # said to sound otherwise
        ("C", "", "x 3 2 0 1 0", "1", "Db", "Db"),  # spelled by the key
        ("C", "", "x 3 2 0 1 0", "1", "F#", "C#"),
        ("riff", "", "x 0 2 0 1 0", "", "G", "Am7"),  # a label that is not a chord
        ("G", "", "3 x 0 0 0 3", "", "G", "G"),  # leaves nothing that tells it out
        ("A5", "", "x 0 2 x x x", "", "", "A5"),
        ("stab", "", "x 0 x x x x", "", "", "stab"),  # one note deserves no name
        ("Am7", "", "x 0 q", "3", "Eb", "Am7"),  # frets that cannot be read
    ],
)
def test_a_voicing_is_called_what_sounds(
    label: str, name: str, frets: str, capo: str, key: str, sounds: str
) -> None:
    part = Part(name="guitar", counted="capo")
    voicing = Voicing(label=label, name=name, frets=frets)
    assert sounding_name(voicing, part, STANDARD, read_capos(capo), key) == sounds


def test_without_a_tuning_the_player_is_believed() -> None:
    part = Part(name="guitar")
    for voicing in (Voicing(label="x", name="Am7", frets="0"), Voicing(label="Am7", frets="0")):
        assert sounding_name(voicing, part, None, ()) == "Am7"


def test_an_arrangement_calls_shapes_what_they_sound() -> None:
    """Every chord named by its shape: the horn in B-flat reads a tone above what sounds."""
    shapes = (
        Voicing(label="C", frets="x 3 2 0 1 0"),
        Voicing(label="F", frets="x x 3 2 1 1"),
        Voicing(label="G", frets="3 2 0 0 0 3"),
    )
    guitar = Part(
        name="guitar", instrument="willow guitar", capo="2", counted="capo", voicings=shapes,
        chart=tuple(ChartEntry(bar=n, voicing=v.label) for n, v in enumerate(shapes, 1)),
    )  # fmt: skip
    version = replace(VERSION, parts=(guitar, Part(name="horn")))
    found = arranged(version=version)
    assert [each.label for each in found.parts[0].part.voicings] == ["D", "G", "A"]
    moved = arranged(version=version, key="E")
    assert [each.label for each in moved.parts[0].part.voicings] == ["E", "A", "B"]
