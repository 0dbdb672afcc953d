from __future__ import annotations

import pytest

from logbook.strings.ring import judge_ring, ordinal
from logbook.theory import name_to_midi, read_symbol


@pytest.mark.parametrize(
    ("chord", "note", "kind", "why"),
    [
        ("C", "G4", "chord tone", "the fifth of the chord"),
        ("C", "D4", "tension", "the ninth, which colours the chord"),
        ("C", "F4", "avoid", "a semitone above the third"),
        ("C", "A4", "tension", "the sixth, which colours the chord"),
        ("C7", "A4", "tension", "the thirteenth, which colours the chord"),
        ("C7", "Db4", "tension", "the flat ninth, an altered tension of a dominant"),
        ("C7", "B4", "avoid", "a semitone above the flat seventh"),
        ("C9", "Eb4", "avoid", "a semitone above the ninth"),
        ("Cmaj7", "Bb4", "avoid", "it rubs against the major seventh"),
        ("Cm", "E4", "avoid", "a semitone above the minor third"),
        ("Csus4", "E4", "avoid", "it rubs against the fourth"),
        ("Csus4", "Eb4", "avoid", "it rubs against the fourth"),
        ("Csus2", "E4", "avoid", "it rubs against the second"),
        ("Caug", "G4", "avoid", "it rubs against the sharp fifth"),
        ("C5", "E4", "tension", "the third, which colours the chord"),
        ("C", "E3", "chord tone", "the third of the chord, but below the bass: an inversion"),
        ("C", "D3", "avoid", "it would be the lowest note and rename the chord"),
    ],
)
def test_why_a_string_may_ring(chord: str, note: str, kind: str, why: str) -> None:
    symbol = read_symbol(chord)
    said = judge_ring(name_to_midi(note), 0, symbol.degrees, name_to_midi("G3"))
    assert (said[0], said[2]) == (kind, why)


def test_degrees_in_words() -> None:
    assert [ordinal(degree) for degree in ("R", "b3", "bb7", "#11")] == [
        "root", "minor third", "double-flat seventh", "sharp eleventh"
    ]  # fmt: skip
