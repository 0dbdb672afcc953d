from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.strings.capo import read_capos
from logbook.strings.moves import (
    guide_tone_lines,
    moves_between,
    section_changes,
    top_line,
)
from logbook.strings.tunings import find_tuning
from logbook.strings.voicing import SoundingVoicing, describe

STANDARD = find_tuning("standard")


def voicing(frets: str, fingers: str = "") -> SoundingVoicing:
    return describe(frets, STANDARD, key="C", fingers=fingers)


def test_from_c_to_a_minor_one_finger_moves() -> None:
    change = moves_between(voicing("x 3 2 0 1 0", "-32-1-"), voicing("x 0 2 2 1 0", "--231-"))
    assert change.stays == (1, 2, 4)
    assert [(move.string, move.kind, move.frets) for move in change.moves] == [
        (3, "pressed", 2),
        (5, "released", -3),
    ]
    assert change.fingers_stay == ("1", "2")
    assert change.top == 0
    assert change.hand_frets == 0


def test_a_barre_slides() -> None:
    change = moves_between(voicing("133211"), voicing("355433"))
    assert change.stays == ()
    assert change.fingers_slide == ("1", "2", "3", "4")
    assert change.hand_frets == 2
    # From fret 1 to fret 3 on 648 mm: 648 (2^(-1/12) - 2^(-3/12)).
    assert change.hand_mm == pytest.approx(66.73, abs=0.01)
    assert {move.frets for move in change.moves} == {2}


def test_strings_join_and_drop() -> None:
    change = moves_between(voicing("x x 0 2 3 2"), voicing("3 2 0 0 3 x"))
    kinds = {move.string: move.kind for move in change.moves}
    assert kinds == {1: "drops", 3: "released", 5: "joins", 6: "joins"}
    assert change.stays == (2, 4)


def test_open_strings_under_one_capo_stay() -> None:
    both = [describe(frets, STANDARD, read_capos("2"), counted="capo") for frets in ("x32010",) * 2]
    assert moves_between(*both).stays == (1, 2, 3, 4, 5)
    assert moves_between(*both).moves == ()


def test_the_line_of_the_top_notes() -> None:
    line = top_line([voicing("x32010"), voicing("x02210"), voicing("133211"), voicing("320003")])
    assert [(note.note, note.step) for note in line] == [
        ("E4", None),
        ("E4", 0),
        ("F4", 1),
        ("G4", 2),
    ]


def test_guide_tones_lead_by_step() -> None:
    chords = [voicing("x 5 7 5 6 5"), voicing("3 5 3 4 3 3"), voicing("x 3 5 4 5 3")]
    assert [each.concert[0].symbol for each in chords] == ["Dm7", "G7", "Cmaj7"]
    lines = guide_tone_lines(chords)
    degrees = [[note.degree for note in line if note] for line in lines]
    assert sorted(degrees) == [["b3", "b7", "3"], ["b7", "3", "7"]]


def test_the_line_rests_where_a_chord_has_no_seventh() -> None:
    lines = guide_tone_lines([voicing("x32010"), voicing("320001")])
    assert lines[0][0] is None
    assert lines[0][1] is not None


def test_sections_and_strangers() -> None:
    assert len(section_changes([voicing("x32010")] * 3)) == 2
    with pytest.raises(LogbookError, match="6 and 4 strings"):
        moves_between(voicing("x32010"), describe("0003", find_tuning("ukulele")))
