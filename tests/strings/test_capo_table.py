from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, read_capos
from logbook.strings.capo_table import RecordedChord, by_choice, capo_table, keep, open_strings
from logbook.strings.frets import CAPO, Position, count_frets, place_frets, read_frets
from logbook.strings.sounding import sounding_midi
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")


def at(frets: str, capo: str = "0") -> Position:
    return place_frets(read_frets(frets, counted=CAPO), STANDARD, read_capos(capo))


def test_shapes_and_shape_keys() -> None:
    rows = capo_table(["Eb", "Cm", "Ab", "Bb7"], STANDARD, key="Eb")
    assert [row.capo for row in rows] == list(range(10))
    assert rows[1].shape_key == "D major"
    assert [chord.shape for chord in rows[1].chords] == ["D", "Bm", "G", "A7"]
    assert [chord.concert for chord in rows[3].chords] == ["Eb", "Cm", "Ab", "Bb7"]
    assert [chord.shape for chord in rows[3].chords] == ["C", "Am", "F", "G7"]
    assert rows[3].chords[0].from_capo == "x 3 2 0 1 0"
    assert rows[3].chords[0].from_nut == "x 6 5 0 4 0"
    assert rows[1].open_strings > rows[0].open_strings


def test_the_voicings_given_sound_the_concert_chord() -> None:
    for row in capo_table(["D", "F#m", "A/C#"], STANDARD, key="D"):
        capos: Capos = read_capos(str(row.capo))
        for chord, wanted in zip(row.chords, ({2, 6, 9}, {6, 9, 1}, {9, 1, 4}), strict=True):
            position = place_frets(read_frets(chord.from_nut), STANDARD, capos)
            notes = [note for note in sounding_midi(position, STANDARD) if note is not None]
            assert {note % 12 for note in notes} == wanted
            assert chord.open_strings == open_strings(position)


def test_a_recorded_voicing_kept_under_a_lower_capo() -> None:
    recorded = at("x 0 2 2 1 0", "2")
    kept = keep(recorded, STANDARD, ())
    assert kept is not None
    assert count_frets(kept, CAPO).text == "x 2 4 4 3 2"
    assert sounding_midi(kept, STANDARD) == sounding_midi(recorded, STANDARD)
    assert keep(recorded, STANDARD, read_capos("3")) is None


def test_a_new_key_with_the_same_shapes() -> None:
    chords = [
        RecordedChord("D", at("x x 0 2 3 2")),
        RecordedChord("A", at("x 0 2 2 2 0")),
        RecordedChord("Bm", at("x 2 4 4 3 2")),
    ]
    rows = capo_table(chords, STANDARD, key="D", new_key="E")
    (same,) = [row for row in rows if row.same_shapes]
    assert same.capo == 2
    assert same.kept == 3
    assert all(chord.same_shape for chord in same.chords)
    assert [chord.concert for chord in same.chords] == ["E", "B", "C#m"]
    assert [chord.shape for chord in same.chords] == ["D", "A", "Bm"]
    assert [chord.from_capo for chord in same.chords] == [
        "x x 0 2 3 2",
        "x 0 2 2 2 0",
        "x 2 4 4 3 2",
    ]


def test_a_lower_key_takes_the_capo_off() -> None:
    chords = [RecordedChord("E", at("x x 0 2 3 2", "2"))]
    rows = capo_table(chords, STANDARD, key="E", new_key="D", capos=read_capos("2"))
    assert [row.capo for row in rows if row.same_shapes] == [0]
    assert rows[0].chords[0].same_shape


def test_chords_without_a_key_and_chords_twice() -> None:
    rows = capo_table(["C", "N.C.", "C"], STANDARD)
    assert [len(row.chords) for row in rows] == [1] * 10
    assert rows[0].shape_key == "C major"
    assert rows[3].chords[0].shape == "A"


def test_a_partial_capo_moves_along_with_the_key() -> None:
    capos = read_capos("2 on strings 3-5")
    recorded = place_frets(read_frets("0 0 0 0 0 0", counted=CAPO), STANDARD, capos)
    chords: list[str | RecordedChord] = [RecordedChord("Esus4", recorded), "B7"]
    rows = capo_table(chords, STANDARD, key="E", new_key="G", capos=capos, highest=5)
    assert [row.capos for row in rows[:4]] == [
        "0", "2 on strings 3-5", "1", "1 + 3 on strings 3-5"
    ]  # fmt: skip
    (same,) = [row for row in rows if row.same_shapes]
    assert (same.capo, same.capos) == (3, "3 + 5 on strings 3-5")
    assert same.chords[0].same_shape
    assert same.chords[0].concert == "Gsus4"
    assert same.shape_key == "E major"


def test_a_partial_capo_over_a_whole_one_keeps_its_distance() -> None:
    capos = read_capos("2 + 4 on strings 3-5")
    rows = capo_table(["E", "A"], STANDARD, key="E", capos=capos, highest=3)
    assert [row.capos for row in rows] == [
        "0", "2 on strings 3-5", "1", "1 + 3 on strings 3-5", "2", "2 + 4 on strings 3-5",
        "3", "3 + 5 on strings 3-5",
    ]  # fmt: skip
    assert [row.same_shapes for row in rows] == [False] * 5 + [True] + [False] * 2


def test_without_a_key_the_shapes_are_spelled_by_the_likely_one() -> None:
    rows = capo_table(["C", "Am", "F", "G"], STANDARD)
    assert [chord.shape for chord in rows[2].chords] == ["Bb", "Gm", "Eb", "F"]
    assert [chord.shape for chord in rows[6].chords] == ["Gb", "Ebm", "Cb", "Db"]
    assert [chord.shape for chord in rows[4].chords] == ["Ab", "Fm", "Db", "Eb"]
    assert rows[2].shape_key == "Bb major"


def test_what_cannot_be_asked() -> None:
    with pytest.raises(LogbookError, match="no chords to finger"):
        capo_table(["N.C."], STANDARD)
    with pytest.raises(LogbookError, match="without the key"):
        capo_table(["C"], STANDARD, new_key="E")
    with pytest.raises(LogbookError, match="past the body"):
        capo_table(["C"], STANDARD, highest=18)


def test_the_row_a_player_would_choose_is_marked_with_why() -> None:
    rows = capo_table(["Eb", "Cm", "Ab", "Bb7"], STANDARD, key="Eb")
    assert sorted(row.choice for row in rows) == list(range(1, 11))
    first = by_choice(rows)[0]
    assert first.capo in (1, 3)
    assert first.barres == 1
    assert "1 barre" in first.why
    assert "no fret above" in first.why
    assert rows[0].barres == 4
    assert rows[0].choice >= 4


@pytest.mark.parametrize(
    ("chords", "key", "capo"),
    [
        (["G", "C", "D", "Em"], "G", 0),
        (["C", "Am", "F", "G"], "C", 0),
        (["B", "E", "F#", "G#m"], "B", 4),
        (["F#", "B", "C#", "D#m"], "F#", 4),
        (["Ab", "Db", "Eb", "Fm"], "Ab", 1),
    ],
)
def test_open_shapes_and_a_low_capo_are_chosen(chords: list[str], key: str, capo: int) -> None:
    assert by_choice(capo_table(chords, STANDARD, key=key))[0].capo == capo


def test_the_shapes_of_the_table_are_those_that_are_taught() -> None:
    rows = capo_table(["F", "Bb", "C7", "Dm"], STANDARD, key="F")
    assert [chord.from_capo for chord in rows[5].chords] == [
        "x 3 2 0 1 0", "1 3 3 2 1 1", "3 2 0 0 0 1", "x 0 2 2 1 0"
    ]  # fmt: skip


def test_recorded_shapes_that_stay_are_chosen_first() -> None:
    chords = [RecordedChord("D", at("x x 0 2 3 2")), RecordedChord("A", at("x 0 2 2 2 0"))]
    rows = capo_table(chords, STANDARD, key="D", new_key="E")
    assert by_choice(rows)[0].capo == 2
    assert by_choice(rows)[0].why.startswith("the recorded shapes")
