from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, read_capos
from logbook.strings.capo_table import RecordedChord, capo_table, keep, open_strings
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
    assert rows[0].shape_key == ""
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
    assert {row.shape_key for row in rows} == {""}


def test_what_cannot_be_asked() -> None:
    with pytest.raises(LogbookError, match="no chords to finger"):
        capo_table(["N.C."], STANDARD)
    with pytest.raises(LogbookError, match="without the key"):
        capo_table(["C"], STANDARD, new_key="E")
    with pytest.raises(LogbookError, match="past the body"):
        capo_table(["C"], STANDARD, highest=18)
