from __future__ import annotations

from logbook.sheets.capo_tables import AskedCapo, CapoTable, table_to_dicts
from logbook.sheets.finger_ways import (
    change_to_line,
    voice_leading,
    ways_table,
    ways_to_dicts,
)
from logbook.strings.alternatives import chord_ways, other_ways
from logbook.strings.capo import read_capos
from logbook.strings.capo_table import RecordedChord, capo_table
from logbook.strings.finder import Limits
from logbook.strings.moves import moves_between
from logbook.strings.tunings import find_tuning
from logbook.strings.voicing import SoundingVoicing, describe
from tests.sheets.drawing import lines_of

STANDARD = find_tuning("standard")


def voicing(frets: str, capo: str = "0") -> SoundingVoicing:
    return describe(frets, STANDARD, read_capos(capo), counted="capo")


def test_other_ways_are_other_and_not_just_thinner() -> None:
    recorded = voicing("x 0 2 2 1 0")
    ways = other_ways(recorded, most=6)
    assert len(ways) == 6
    for way in ways:
        assert any(
            note not in (-1, view.midi)
            for note, view in zip(way.notes, recorded.strings, strict=True)
        )
    assert len({way.position for way in ways}) == 6


def test_other_ways_with_the_same_notes() -> None:
    ways = other_ways(voicing("x 0 2 2 1 0", "2"), same_notes=True)
    (first, *_) = ways_to_dicts(ways, "Bm")
    assert first["notes"] == ["B2", "F#3", "B3", "D4", "F#4"]
    assert first["from_capo"] != "x 0 2 2 1 0"


def test_notes_without_a_name_have_no_other_ways() -> None:
    cluster = voicing("x x 14 10 7 x")
    assert not cluster.concert[0].named
    assert other_ways(cluster) == ()
    same = other_ways(cluster, same_notes=True)
    assert all("E4" in row[3] for row in ways_table(same, cluster.chord).rows)


def test_the_easiest_ways_of_a_chord_and_every_one() -> None:
    table = ways_table(chord_ways("Eb", STANDARD, read_capos("1")), "Eb", counted="capo")
    assert table.rows[0][0] == "x x 0 2 3 2"
    assert table.rows[0][3] == "Eb3 Bb3 Eb4 G4"
    every = chord_ways("Eb", STANDARD, most=None)
    assert len(every) > 300
    assert len(other_ways(voicing("x 6 8 8 8 6"), most=None)) == len(every) - 1


def test_a_hand_with_three_fingers_is_proposed_three() -> None:
    ways = chord_ways("F", STANDARD, limits=Limits(fingers=3), most=None)
    fingers = "".join(way["fingers"] for way in ways_to_dicts(ways, "F", fingers=3))
    assert set(fingers) <= set("123 -T")


def test_a_change_in_words() -> None:
    change = moves_between(voicing("x 3 2 0 1 0"), voicing("3 2 0 0 0 3"))
    line = change_to_line(change)
    assert "string 3 stays" in line
    assert "string 2 released 1 to 0" in line
    assert "string 6 joins" in line
    assert change_to_line(moves_between(voicing("x32010"), voicing("x32010"))).startswith("strings")


def test_lines_of_a_section() -> None:
    top, *guides = voice_leading(
        [voicing("x 5 7 5 6 5"), voicing("3 5 3 4 3 3"), voicing("x32010")]
    )
    assert top == ("Top line", "A4 G4 E4")
    assert len(guides) == 2
    assert all(line.endswith(" -") for _, line in guides)


def test_a_capo_table_in_lines_and_as_data() -> None:
    chords = [RecordedChord("Bm", voicing("x 0 2 2 1 0", "2").position), RecordedChord("A")]
    rows = capo_table(chords, STANDARD, key="D", capos=read_capos("2"))
    lines = lines_of("capo", AskedCapo((CapoTable("", "D", "", rows),), frets=True))
    assert max(map(len, lines)) <= 80
    assert "(the recorded shapes)" in "\n".join(lines)
    assert any(line.endswith("  Am x 0 2 2 1 0") for line in lines)
    data = table_to_dicts(rows)
    assert data[2]["chords"][0]["same_shape"] is True
    assert data[3]["chords"][0]["kept"] is False
    assert data[3]["chords"][1]["kept"] is None
