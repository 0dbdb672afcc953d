from __future__ import annotations

import json

import pytest

from logbook.errors import LogbookError
from logbook.sheets.voicings import VoicingAnswer, one_line, to_dict
from logbook.strings.capo import read_capos
from logbook.strings.ring import AVOID, CHORD_TONE, TENSION, judge_ring
from logbook.strings.tunings import find_tuning
from logbook.strings.voicing import SoundingVoicing, describe
from logbook.theory.symbols import read_symbol
from tests.sheets.drawing import lines_of

STANDARD = find_tuning("standard")


def under_capo(frets: str, capo: str, *, key: str | None = None, name: str = "") -> SoundingVoicing:
    return describe(frets, STANDARD, read_capos(capo), counted="capo", key=key, name=name)


def test_concert_name_and_shape_name() -> None:
    voicing = under_capo("x 0 2 2 1 0", "2", key="Bm")
    assert voicing.concert[0].symbol == "Bm"
    assert voicing.shape[0].symbol == "Am"
    assert voicing.shape_key is not None
    assert voicing.shape_key.name == "A minor"
    assert voicing.from_nut == "x 0 4 4 3 0"
    assert voicing.notes == ("B2", "F#3", "B3", "D4", "F#4")
    assert [view.degree for view in voicing.strings] == [None, "R", "5", "R", "b3", "5"]


def test_notes_are_spelled_by_the_concert_key() -> None:
    voicing = under_capo("x 3 2 0 1 0", "1", key="Db")
    assert voicing.concert[0].symbol == "Db"
    assert voicing.notes == ("Db3", "F3", "Ab3", "Db4", "F4")


def test_a_shape_name_written_as_a_concert_name() -> None:
    verdict = under_capo("x 0 2 2 1 0", "2", name="Am").verdict
    assert verdict is not None
    assert verdict.word == "shape name"
    assert "Bm" in verdict.sentence


def test_a_shape_name_under_a_partial_capo_as_the_hand_feels_it() -> None:
    voicing = describe("5 4 0 0 0 5", STANDARD, read_capos("2 @ 1-5"), name="G")
    assert voicing.concert[0].symbol == "A"
    assert voicing.verdict is not None
    assert voicing.verdict.word == "shape name"


def test_guide_tones_by_string() -> None:
    voicing = describe("x 3 2 3 1 0", STANDARD)
    assert voicing.chord == "C7"
    assert [(tone.string, tone.note, tone.degree) for tone in voicing.guide_tones] == [
        (4, "E3", "3"),
        (3, "Bb3", "b7"),
        (1, "E4", "3"),
    ]


def test_guide_tones_over_the_bass_part() -> None:
    assert describe("x x 3 4 x x", STANDARD, bass=7).concert[0].symbol == "G7"


def test_what_may_ring_is_not_named_but_judged() -> None:
    voicing = describe("x (0) 2 2 1 0", STANDARD)
    assert voicing.concert[0].symbol == "Am/E"
    assert voicing.midi == (52, 57, 60, 64)
    ring = {note.string: (note.kind, note.played) for note in voicing.ring}
    assert ring[5] == (CHORD_TONE, "may ring")
    assert ring[1] == (CHORD_TONE, "open")
    assert ring[6] == (CHORD_TONE, "not played")


@pytest.mark.parametrize(
    ("chord", "midi", "kind", "degree"),
    [
        ("Cmaj7", 62, TENSION, "9"),
        ("Cmaj7", 65, AVOID, "11"),
        ("Cmaj7", 66, TENSION, "#11"),
        ("C7", 71, AVOID, "7"),
        ("C7", 61, TENSION, "b9"),
        ("C9", 61, AVOID, "b9"),
        ("C7", 63, TENSION, "#9"),
        ("Cm7", 64, AVOID, "3"),
        ("Cm7", 65, TENSION, "11"),
        ("C", 67, CHORD_TONE, "5"),
        ("Csus4", 64, AVOID, "3"),
        ("C", 63, AVOID, "#9"),
    ],
)
def test_chord_tone_tension_or_avoid(chord: str, midi: int, kind: str, degree: str) -> None:
    symbol = read_symbol(chord)
    assert symbol.root_pc is not None
    assert judge_ring(midi, symbol.root_pc, symbol.degrees, 48)[:2] == (kind, degree)


def test_a_foreign_note_below_the_bass_renames_the_chord() -> None:
    kind, _, why = judge_ring(40, 7, ("R", "3", "5"), 43)
    assert kind == AVOID
    assert "rename" in why


def test_fingers_as_given_or_proposed() -> None:
    proposed = describe("1 3 3 2 1 1", STANDARD)
    assert proposed.fingers_proposed
    assert [(barre.fret, barre.low, barre.high) for barre in proposed.barres] == [(1, 6, 1)]
    assert "teacher" in proposed.caution
    given = describe("x 3 2 0 1 0", STANDARD, fingers="-32-1-")
    assert not given.fingers_proposed
    assert given.barres == ()
    assert given.caution == ""
    assert given.stretch_mm == pytest.approx(66.7, abs=0.1)


def test_what_cannot_be_described() -> None:
    with pytest.raises(LogbookError, match="no string is played"):
        describe("x x x x x x", STANDARD)
    with pytest.raises(LogbookError, match="past the body"):
        under_capo("x02210", "16")


@pytest.mark.parametrize(
    ("tuning", "frets", "capo"),
    [
        ("standard", "x 0 2 2 1 0", "2"),
        ("standard", "0 0 0 2 0 (0)", "2 @ 3-5"),
        ("banjo", "0 2 0 1 2", "2 + 7 @ 5"),
        ("ukulele", "0 0 0 3", "0"),
        ("twelve-string", "3 2 0 0 0 3", "1"),
        ("mandolin", "0 0 2 3", "0"),
        ("bass", "x x 2 1", "0"),
        ("seven-string", "x <12> <12> x x x x", "0"),
    ],
)
def test_the_report_is_plain_data_and_fits_the_page(tuning: str, frets: str, capo: str) -> None:
    voicing = describe(frets, find_tuning(tuning), read_capos(capo), counted="capo", key="C")
    data = json.loads(json.dumps(to_dict(voicing)))
    assert data["frets"]["from_capo"] == frets
    assert data["concert_name"] in one_line(voicing)
    assert [
        row["midi"]
        for row in data["strings"]
        if row["midi"] is not None and row["state"] != "may ring"
    ] == data["midi"]
    lines = lines_of("chord", VoicingAnswer(voicing))
    assert max(map(len, lines)) <= 80
    assert all(line == line.rstrip() for line in lines)
