from __future__ import annotations

import pytest

from logbook.sheets.voicings import VoicingAnswer, one_line, other_names, to_dict
from logbook.strings.capo import read_capos
from logbook.strings.stretch import STRAIN_CAUTION
from logbook.strings.tunings import find_tuning
from logbook.strings.voicing import describe
from logbook.theory import name_chord, name_to_midi
from logbook.theory.notes import pitch_class
from tests.sheets.drawing import lines_of

STANDARD = find_tuning("standard")


def midi(names: str) -> list[int]:
    return [name_to_midi(name) for name in names.split()]


def said(lines: list[str], label: str) -> str:
    """The paragraph that a label begins, in one line."""
    at = next(place for place, line in enumerate(lines) if line.startswith(label))
    text = [lines[at][13:]]
    for line in lines[at + 1 :]:
        if line[:13].strip():
            break
        text.append(line[13:])
    return " ".join(text)


@pytest.mark.parametrize(
    ("notes", "key", "both"),
    [
        ("A2 E3 G3 C4 E4", "Am", {"Am7", "C6/A"}),
        ("A2 E3 G3 C4 E4", "C", {"Am7", "C6/A"}),
        ("C3 E3 G3 A3", "C", {"C6", "Am7/C"}),
        ("F#3 A3 C4 E4", "Em", {"F#m7b5", "Am6/F#"}),
        ("D3 G3 A3", "D", {"Dsus4", "Gsus2/D"}),
    ],
)
def test_where_two_names_fit_the_same_notes_both_are_given(
    notes: str, key: str, both: set[str]
) -> None:
    names = name_chord(midi(notes), key=key)
    assert both <= {names[0].symbol, *(name.symbol for name in other_names(names))}


def test_a_foreign_bass_is_not_said_where_the_chord_with_that_note_is() -> None:
    names = name_chord(midi("A2 E3 G3 C4 E4"), key="C")
    assert "C/A" not in {name.symbol for name in other_names(names)}


def test_the_wrapped_lines_fit_and_say_everything() -> None:
    voicing = describe(
        "x 0 2 2 1 0", STANDARD, read_capos("2"), counted="capo", key="Bm", name="Am"
    )
    for width in (60, 80, 120):
        lines = lines_of("chord", VoicingAnswer(voicing), width)
        assert max(map(len, lines)) <= width
        assert said(lines, "Written") == (
            "shape name: Am is the shape name, not the concert name: what sounds is Bm"
        )


def test_a_string_that_only_may_ring_stands_in_brackets() -> None:
    lines = lines_of("chord", VoicingAnswer(describe("x 3 2 (0) 1 0", STANDARD)))
    assert said(lines, "Sounds") == "C3 E3 (G3) C4 E4"
    assert said(lines, "Degrees") == "R 3 (5) R 3 of C"
    assert said(lines, "May ring") == "string 3, G3: chord tone, the fifth of the chord"
    assert "string 3" not in said(lines, "Ringing")


def test_octave_courses_are_said() -> None:
    lines = lines_of("chord", VoicingAnswer(describe("x 3 2 0 1 0", find_tuning("twelve-string"))))
    assert said(lines, "Courses") == "C4/C3 E4/E3 G4/G3 C4/C4 E4/E4"
    lines = lines_of("chord", VoicingAnswer(describe("0 2 0 0", find_tuning("mandolin"))))
    assert not any(line.startswith("Courses") for line in lines)


def test_a_proposed_fingering_carries_the_caution_even_without_reach() -> None:
    assert describe("0 2 2 0 0 0", STANDARD).caution == STRAIN_CAUTION
    assert describe("2 2 2 2 2 2", STANDARD).caution == STRAIN_CAUTION
    assert describe("0 2 2 0 0 0", STANDARD, fingers="- 2 3 - - -").caution == ""
    assert describe("0 0 0 0 0 0", STANDARD).caution == ""


def test_what_no_hand_reaches_gets_no_fingering() -> None:
    voicing = describe("x 3 2 0 1 <12>", STANDARD)
    assert voicing.fingers is None
    lines = lines_of("chord", VoicingAnswer(voicing))
    assert said(lines, "Fingers") == "no hand reaches 288 mm: not all of this at once"
    assert said(lines, "Caution") == STRAIN_CAUTION


def test_over_another_parts_bass_no_string_is_the_lowest() -> None:
    voicing = describe("x x 3 4 x x", STANDARD, bass=pitch_class("G"))
    kinds = {note.string: (note.kind, note.degree) for note in voicing.ring}
    assert kinds[5] == ("tension", "9")
    assert kinds[6] == ("tension", "13")
    lines = lines_of("chord", VoicingAnswer(voicing))
    assert said(lines, "Bass") == "G, played by another part"
    assert to_dict(voicing)["bass"] == "G"
    assert to_dict(describe("x x 3 4 x x", STANDARD))["bass"] is None


def test_one_line_names_the_shape_under_a_capo() -> None:
    voicing = describe("x 0 2 2 1 0", STANDARD, read_capos("2"), counted="capo")
    assert one_line(voicing) == "x 0 2 2 1 0  Bm  shape Am  B2 F#3 B3 D4 F#4"
