"""Chord names against a published set of guitar fingerings.

Source: npm package @tombatossals/chords-db 0.5.1, lib/guitar.json (MIT); a copy with its licence
stands in tests/data/chord-fingerings. Suffixes with a slash, `alt` and `7sg` are left out. The set
does not say which notes its suffixes mean; the table below is the one under which the notes of
1,413 of the 1,873 rows are exactly the named chord's, the count stated in its README.
"""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import pytest

from logbook.theory import judge, midi_to_name, name_chord, name_to_midi, read_symbol
from logbook.theory.notes import PLAIN_NAMES, pitch_class

DATA = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"

INTERVALS = {
    "major": "0 4 7", "minor": "0 3 7", "dim": "0 3 6", "dim7": "0 3 6 9", "aug": "0 4 8",
    "sus2": "0 2 7", "sus4": "0 5 7", "7sus4": "0 5 7 10", "6": "0 4 7 9", "69": "0 2 4 7 9",
    "7": "0 4 7 10", "7b5": "0 4 6 10", "aug7": "0 4 8 10", "9": "0 2 4 7 10",
    "9b5": "0 2 4 6 10", "aug9": "0 2 4 8 10", "7b9": "0 1 4 7 10", "7#9": "0 3 4 7 10",
    "11": "0 2 4 5 7 10", "9#11": "0 2 4 6 7 10", "13": "0 2 4 7 9 10", "maj7": "0 4 7 11",
    "maj7b5": "0 4 6 11", "maj7#5": "0 4 8 11", "maj9": "0 2 4 7 11", "maj11": "0 2 4 5 7 11",
    "maj13": "0 2 4 7 9 11", "m6": "0 3 7 9", "m69": "0 2 3 7 9", "m7": "0 3 7 10",
    "m7b5": "0 3 6 10", "m9": "0 2 3 7 10", "m11": "0 2 3 5 7 10", "mmaj7": "0 3 7 11",
    "mmaj7b5": "0 3 6 11", "mmaj9": "0 2 3 7 11", "mmaj11": "0 2 3 5 7 11", "add9": "0 2 4 7",
    "madd9": "0 2 3 7",
}  # fmt: skip
WRITTEN = {"major": "", "minor": "m"}


class Row(NamedTuple):
    root: int
    suffix: str
    intervals: frozenset[int]
    midi: list[int]

    @property
    def is_exact(self) -> bool:
        return {(note - self.root) % 12 for note in self.midi} == self.intervals

    def symbol(self, moved: int = 0) -> str:
        return PLAIN_NAMES[(self.root + moved) % 12] + WRITTEN.get(self.suffix, self.suffix)


def all_rows() -> list[Row]:
    rows = []
    for chords in json.loads(DATA.read_text())["chords"].values():
        for chord in chords:
            if chord["suffix"] in INTERVALS:
                intervals = frozenset(map(int, INTERVALS[chord["suffix"]].split()))
                root = pitch_class(chord["key"])
                for position in chord["positions"]:
                    rows.append(Row(root, chord["suffix"], intervals, position["midi"]))
    return rows


ROWS = all_rows()
EXACT = [row for row in ROWS if row.is_exact]


def share_agreeing(rows: list[Row], anywhere: bool) -> float:
    """Share of rows whose root and intervals are those of the first name, or of any name."""
    agreeing = 0
    for row in rows:
        names = name_chord(row.midi)
        wanted = (row.root, row.intervals)
        agreeing += any((n.root, n.intervals) == wanted for n in (names if anywhere else names[:1]))
    return agreeing / len(rows)


def test_the_suffixes_mean_what_the_counts_say() -> None:
    assert (len(ROWS), len(EXACT)) == (1873, 1413)


@pytest.mark.parametrize("suffix", INTERVALS)
def test_the_reader_gives_each_suffix_the_same_notes(suffix: str) -> None:
    wanted = set(map(int, INTERVALS[suffix].split()))
    assert read_symbol("E" + WRITTEN.get(suffix, suffix)).intervals == wanted


def test_exact_rows_are_named_first_in_96_of_100_and_all_are_listed() -> None:
    assert share_agreeing(EXACT, anywhere=False) >= 0.96
    assert share_agreeing(EXACT, anywhere=True) == 1.0


def test_all_rows_are_named_first_in_90_of_100_and_nearly_all_are_listed() -> None:
    assert share_agreeing(ROWS, anywhere=False) >= 0.90
    assert share_agreeing(ROWS, anywhere=True) >= 0.995


def test_what_is_missed_is_what_the_notes_alone_cannot_tell() -> None:
    """Among equal notes over an equal bass only one name can come first."""
    wanted: dict[tuple[int, frozenset[int]], Counter[tuple[int, str]]] = {}
    for row in EXACT:
        low = min(row.midi)
        notes = frozenset((note - low) % 12 for note in row.midi)
        names = wanted.setdefault((0, notes), Counter())
        names[((row.root - low) % 12, row.suffix)] += 1
    ceiling = sum(max(names.values()) for names in wanted.values()) / len(EXACT)
    assert ceiling - share_agreeing(EXACT, anywhere=False) < 0.01


def test_every_exact_row_is_judged_exact() -> None:
    assert {judge(row.symbol(), row.midi).word for row in EXACT} == {"exact"}


@pytest.mark.parametrize("moved", range(1, 6))
def test_a_name_moved_is_exact_only_where_the_notes_fit_both(moved: int) -> None:
    for row in EXACT:
        notes = {(note - row.root - moved) % 12 for note in row.midi}
        verdict = judge(row.symbol(moved), row.midi)
        assert (verdict.word == "exact") == (notes == row.intervals)


def test_with_a_capo_the_shape_name_is_told_from_the_concert_name() -> None:
    for row in EXACT:
        concert = [note + 3 for note in row.midi]
        fits = {(note - row.root) % 12 for note in concert} == row.intervals
        verdict = judge(row.symbol(), concert, shape_midi=row.midi)
        assert verdict.word == ("exact" if fits else "shape name")


def test_note_numbers_of_all_rows_have_a_name_that_leads_back() -> None:
    for midi in {note for row in ROWS for note in row.midi}:
        assert name_to_midi(midi_to_name(midi)) == midi
