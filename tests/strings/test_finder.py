from __future__ import annotations

import itertools
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, read_capos
from logbook.strings.finder import Limits, find_same_notes, find_voicings
from logbook.strings.fingering import fingers_needed, shape_of
from logbook.strings.frets import CAPO, Position, count_frets, place_frets, read_frets
from logbook.strings.sounding import sounding_midi
from logbook.strings.stretch import fingered_frets, stretch_mm
from logbook.strings.tunings import StringTuning, find_tuning
from logbook.theory.symbols import read_symbol

STANDARD = find_tuning("standard")
ROWS = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"


def at(frets: str, tuning: StringTuning = STANDARD, capos: Capos = ()) -> Position:
    return place_frets(read_frets(frets), tuning, capos)


def rows() -> Iterator[tuple[str, Position, list[int]]]:
    """Yield the name, the position and the notes of every row of every eighth chord.

    Of two keys side by side one has those that the other leaves out.
    tests/benchmarks/bench_finder.py looks for all of them. `7sg` is not a chord symbol.
    """
    for number, chords in enumerate(json.loads(ROWS.read_text())["chords"].values()):
        for chord in chords[number % 2 * 4 :: 8]:
            if chord["suffix"] == "7sg":
                continue
            suffix = {"major": "", "minor": "m"}.get(chord["suffix"], chord["suffix"])
            for row in chord["positions"]:
                shift = row["baseFret"] - 1
                frets = [
                    "x" if fret < 0 else str(fret + shift if fret else 0) for fret in row["frets"]
                ]
                yield chord["key"] + suffix, at(" ".join(frets)), row["midi"]


@pytest.mark.parametrize(
    ("chord", "frets"),
    [
        ("C", "x 3 2 0 1 0"),
        ("G", "3 2 0 0 0 3"),
        ("Am", "x 0 2 2 1 0"),
        ("E", "0 2 2 1 0 0"),
        ("D", "x x 0 2 3 2"),
        ("D/F#", "2 0 0 2 3 2"),
        ("Cmaj7", "x 3 2 0 0 0"),
    ],
)
def test_the_first_one_is_what_a_player_would_show(chord: str, frets: str) -> None:
    assert count_frets(find_voicings(chord, STANDARD)[0].position).text == frets


@pytest.mark.parametrize(
    ("tuning", "chord", "frets"),
    [
        ("ukulele", "C", "0 0 0 3"), ("ukulele", "F", "2 0 1 0"), ("ukulele", "Am7", "0 0 0 0"),
        ("banjo", "G", "0 0 0 0 0"), ("mandolin", "G", "0 0 2 3"),
        ("baritone ukulele", "C", "2 0 1 0"), ("bass", "C", "x 3 2 0"),
    ],
)  # fmt: skip
def test_on_a_small_instrument_every_string_is_strummed(
    tuning: str, chord: str, frets: str
) -> None:
    assert count_frets(find_voicings(chord, find_tuning(tuning))[0].position).text == frets


@settings(deadline=None, max_examples=25)
@given(
    st.sampled_from(["standard", "DADGAD", "ukulele", "banjo", "twelve-string", "bass"]),
    st.sampled_from(["0", "2", "2 @ 1-3", "2 + 4 @ 2"]),
    st.sampled_from(["C", "F#m", "Bb7", "Dsus4", "G/B", "Em7b5", "A5"]),
    st.sampled_from([Limits(), Limits(stretch_mm=60.0, fingers=2), Limits(last_fret=5)]),
)
def test_what_is_found_is_the_chord_and_within_the_limits(
    name: str, capo: str, chord: str, limits: Limits
) -> None:
    tuning = find_tuning(name)
    symbol = read_symbol(chord)
    found = find_voicings(chord, tuning, read_capos(capo), limits=limits)
    assert len({each.position for each in found}) == len(found)
    for each in found:
        notes = [note for note in sounding_midi(each.position, tuning) if note is not None]
        assert each.midi == sounding_midi(each.position, tuning)
        assert {note % 12 for note in notes} <= symbol.pitch_classes
        if symbol.bass is not None:
            assert min(notes) % 12 == symbol.bass_pc
        assert fingers_needed(shape_of(each.position)) == each.fingers <= limits.fingers
        assert each.stretch_mm <= limits.stretch_mm
        line = count_frets(each.position, CAPO)
        assert place_frets(line, tuning, read_capos(capo)) == each.position


def test_nothing_is_missed_on_a_small_neck() -> None:
    """Every way to press four strings of a ukulele up to fret 5, tried one by one."""
    ukulele = find_tuning("ukulele")
    wanted = set()
    for frets in itertools.product(("x", *"012345"), repeat=4):
        position = at(" ".join(frets), ukulele)
        notes = [note for note in sounding_midi(position, ukulele) if note is not None]
        gaps = " ".join(frets).strip("x ").replace("x x", "x").count("x")
        if {note % 12 for note in notes} == {0, 4, 7} and gaps <= 1:
            wanted.add(position)
    limits = Limits(last_fret=5)
    found = find_voicings("C", ukulele, limits=limits)
    assert {each.position for each in found} == wanted
    assert len(wanted) > 8


def test_the_closest_to_the_recorded_one_comes_first() -> None:
    near = at("x 3 2 0 1 0")
    found = find_voicings("C", STANDARD, near=near)
    assert found[0].position == near
    high = find_voicings("C", STANDARD, near=at("x x 10 9 8 8"))
    assert count_frets(high[0].position).text == "x x 10 9 8 8"
    assert min(fingered_frets(high[1].position)) > 4


def test_the_same_notes_elsewhere() -> None:
    found = find_same_notes((45, 52, 57, 60, 64), STANDARD)
    assert {count_frets(each.position).text for each in found} >= {"x 0 2 2 1 0", "5 7 7 5 5 x"}
    assert all(
        sorted(note for note in each.notes if note >= 0) == [45, 52, 57, 60, 64] for each in found
    )


def test_on_more_strings_a_voicing_stays_within_six_neighbours() -> None:
    for name in ("seven-string", "eight-string"):
        for found in find_voicings("Am7", find_tuning(name)):
            sounding = [index for index, note in enumerate(found.notes) if note >= 0]
            assert sounding[-1] - sounding[0] < 6


def test_a_chord_of_open_strings_alone_is_found_once() -> None:
    found = find_voicings("G", find_tuning("open G"))
    free = [each for each in found if not each.fingers]
    assert len({each.notes for each in free}) == len(free) > 1
    assert [each.distance for each in found] == sorted(each.distance for each in found)
    assert free[0].low == 0
    assert free[0].stretch_mm == 0.0


def test_a_wider_hand_finds_more() -> None:
    narrow, usual, wide = (
        {each.position for each in find_voicings("C", STANDARD, limits=Limits(stretch_mm=reach))}
        for reach in (50.0, 100.0, 140.0)
    )
    assert narrow < usual < wide
    assert all(stretch_mm(fingered_frets(position), 648.0) <= 50.0 for position in narrow)


def test_what_cannot_be_asked() -> None:
    with pytest.raises(LogbookError, match="no notes to finger"):
        find_voicings("N.C.", STANDARD)
    with pytest.raises(LogbookError, match="no hand has 0 fingers"):
        find_voicings("C", STANDARD, limits=Limits(fingers=0))
    with pytest.raises(LogbookError, match="there are no notes"):
        find_same_notes((), STANDARD)
    with pytest.raises(LogbookError, match="has 6 strings, the tuning 4"):
        find_voicings("C", find_tuning("bass"), near=at("x32010"))


def test_the_fingerings_of_the_table_are_found() -> None:
    """Of the data set's rows (see tests/data) 98 % are found, by name and by their notes."""
    found: dict[str, set[Position]] = {}
    total = by_name = by_notes = 0
    for name, position, midi in rows():
        if name not in found:
            found[name] = {each.position for each in find_voicings(name, STANDARD)}
        total += 1
        by_name += position in found[name]
        by_notes += position in {each.position for each in find_same_notes(midi, STANDARD)}
    assert total > 225
    assert by_name / total >= 0.98
    assert by_notes / total >= 0.99
