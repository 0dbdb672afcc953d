"""The chord-symbol reader against two published vocabularies of chord kinds."""

from __future__ import annotations

import pytest

from logbook.theory import read_symbol

# Source: MusicXML 4.0 (W3C Music Notation Community Group), data type kind-value. Its 13ths hold
# the 11th "usually as the basis for alteration"; ours leave the eleventh out, as players do.
# Its functional sixths, Tristan, pedal and other have no symbol made of a root and a suffix.
MUSICXML = {
    "major": ("C CM Cmaj", "0 4 7"), "minor": ("Cm C- Cmin", "0 3 7"),
    "augmented": ("C+ Caug", "0 4 8"), "diminished": ("Cdim Co C°", "0 3 6"),
    "dominant": ("C7", "0 4 7 10"), "major-seventh": ("Cmaj7 CM7 Cma7 CΔ", "0 4 7 11"),
    "minor-seventh": ("Cm7 Cmin7 C-7", "0 3 7 10"), "diminished-seventh": ("Cdim7 Co7", "0 3 6 9"),
    "augmented-seventh": ("C+7 Caug7 C7#5", "0 4 8 10"),
    "half-diminished": ("Cø Cø7 Cm7b5", "0 3 6 10"), "major-minor": ("CmM7 Cm(maj7)", "0 3 7 11"),
    "major-sixth": ("C6", "0 4 7 9"), "minor-sixth": ("Cm6", "0 3 7 9"),
    "dominant-ninth": ("C9", "0 4 7 10 2"), "major-ninth": ("Cmaj9 CM9", "0 4 7 11 2"),
    "minor-ninth": ("Cm9 C-9", "0 3 7 10 2"), "dominant-11th": ("C11", "0 4 7 10 2 5"),
    "major-11th": ("Cmaj11", "0 4 7 11 2 5"), "minor-11th": ("Cm11", "0 3 7 10 2 5"),
    "dominant-13th": ("C13", "0 4 7 10 2 5 9"), "major-13th": ("Cmaj13", "0 4 7 11 2 5 9"),
    "minor-13th": ("Cm13", "0 3 7 10 2 5 9"), "suspended-second": ("Csus2", "0 2 7"),
    "suspended-fourth": ("Csus4 Csus", "0 5 7"), "power": ("C5", "0 7"),
}  # fmt: skip


@pytest.mark.parametrize("kind", MUSICXML)
def test_kinds_of_musicxml(kind: str) -> None:
    written, notes = MUSICXML[kind]
    wanted = set(map(int, notes.split())) - ({5} if kind.endswith("13th") else set())
    for symbol in written.split():
        assert read_symbol(symbol).intervals == wanted, symbol


def test_none_of_musicxml() -> None:
    assert read_symbol("N.C.").intervals == frozenset()


# Source: C. Harte, M. Sandler, S. Abdallah, E. Gomez, "Symbolic representation of musical chords:
# a proposed syntax for text annotations", ISMIR 2005, as tabled in mir_eval.chord (MIT).
def test_shorthands_of_harte() -> None:
    chord = pytest.importorskip("mir_eval.chord")
    for shorthand, bits in chord.QUALITIES.items():
        base, tensions = chord.reduce_extended_quality(shorthand)
        wanted = {n for n, bit in enumerate(chord.quality_to_bitmap(base)) if bit}
        wanted |= {chord.scale_degree_to_semitone(degree) % 12 for degree in tensions}
        if shorthand.endswith("13"):
            wanted.discard(5)  # as above
        assert len(bits) == 12
        if shorthand:  # the empty shorthand stands for no chord at all
            assert read_symbol(f"C:{shorthand}").intervals == wanted, shorthand


def test_roots_of_harte() -> None:
    chord = pytest.importorskip("mir_eval.chord")
    for root in ("C", "Db", "F#", "Ebb", "G##", "B#", "Fb"):
        assert read_symbol(f"{root}:min7").root_pc == chord.pitch_class_to_semitone(root)
