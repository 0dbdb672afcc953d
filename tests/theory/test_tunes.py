"""Tunes as people type them: read, written back, and what is no tune."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory.tunes import TuneNote, bar_lines, length_of, read_tune, tune_text

LENGTHS = st.builds(
    lambda n, d: Fraction(n, d), st.integers(1, 40), st.sampled_from([1, 2, 4, 8, 16, 12, 24, 7])
).filter(lambda length: length <= 8)
NAMES = st.sampled_from(["C4", "F#5", "Bb3", "Ebb4", "Gx2", "B-1", ""])


@given(st.lists(st.builds(TuneNote, NAMES, LENGTHS, st.just(False)), min_size=1, max_size=8))
def test_what_is_written_reads_back(notes: list[TuneNote]) -> None:
    if any(each.name for each in notes):
        assert read_tune(tune_text(notes)) == tuple(notes)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("E4/8 F# G A/4. r/8 | B/2~ | B/4", "E4/8 F#4 G4 A4/4. r/8 | B4/2~ | B4/4"),
        ("c4 d e♭", "C4/4 D4 Eb4"),
        ("B3/8t c d e5/2+8", "B3/8t C4 D4 E5/2+8"),
        ("G4 a-/2", None),
        ("G5=5/7 r=1/6", "G5=5/7 r/4t"),
    ],
)
def test_octaves_and_lengths_go_on(typed: str, kept: str | None) -> None:
    if kept is None:
        with pytest.raises(LogbookError):
            read_tune(typed)
    else:
        assert tune_text(read_tune(typed)) == kept


def test_lengths_and_bar_lines() -> None:
    tune = read_tune("E4/8t F4 G4 A4/4 | B4/2.")
    assert length_of(tune) == Fraction(1, 2) + Fraction(3, 4)
    assert list(bar_lines(tune)) == [(Fraction(1, 2), "A4")]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("F G", "has no octave"),
        ("E4/3", "is not the length"),
        ("E4/4~ F4", "not the same note"),
        ("r/4 |", "no note"),
        ("", "no note"),
        ("H4", "not a note"),
        ("E4 r~", "cannot be held"),
        ("E44", "MIDI"),
        ("C4=99/1 C4", "longer"),
        ("C4=1/0", "part of a whole note"),
    ],
)
def test_what_is_no_tune_is_said(typed: str, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        read_tune(typed)
