from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.theory import judge, name_chord, read_symbol
from logbook.theory.kinds import ChordKind, all_kinds
from logbook.theory.notes import PLAIN_NAMES

KINDS = st.sampled_from(all_kinds())


def sounding(kind: ChordKind, root: int) -> list[int]:
    return [root + interval for interval in sorted(kind.intervals)]


@pytest.mark.parametrize(
    ("written", "notes", "word"),
    [
        ("C", [48, 52, 55, 60], "exact"), ("C", [52, 55, 60], "exact"),
        ("C/E", [52, 55, 60], "exact"),
        ("C#", [49, 53, 56], "exact"), ("Am7", [48, 52, 55, 57], "exact"),
        ("C/D", [50, 60, 64, 67], "exact"),
        ("C7", [48, 52, 58], "leaves out"), ("C13", [48, 52, 58, 69], "leaves out"),
        ("Cm7", [48, 55], "leaves out"), ("C", [], "leaves out"),
        ("C/D", [60, 64, 67], "contradicts"),
        ("C", [48, 52, 55, 58], "adds"), ("C9", [48, 52, 58, 57], "adds"),
        ("C", [48, 52, 55, 62], "adds"),
        ("Cm", [48, 52, 55], "contradicts"), ("Cmaj7", [48, 52, 55, 58], "contradicts"),
        ("Csus4", [48, 52, 55], "contradicts"), ("C/E", [48, 52, 55], "contradicts"),
        ("C7b9", [48, 52, 55, 58, 62], "contradicts"), ("Cm", [48, 51, 52, 55], "contradicts"),
        ("C7#5", [48, 52, 55, 58], "contradicts"), ("G", [48, 52, 55], "contradicts"),
        ("N.C.", [], "exact"), ("N.C.", [48], "contradicts"),
    ],
)  # fmt: skip
def test_the_five_words(written: str, notes: list[int], word: str) -> None:
    verdict = judge(written, notes)
    assert verdict.word == word
    assert verdict.agrees == (word != "contradicts")


def test_sentences_name_the_notes() -> None:
    assert judge("C7", [48, 52, 58]).sentence == "C7 leaves out G (the 5)"
    assert judge("C", [48, 52, 55, 58]).sentence == "what sounds adds Bb (the b7) to C"
    assert judge("Cm", [48, 52, 55]).sentence == (
        "Cm does not match the notes: Eb (the b3) is missing and E (the 3) sounds; what sounds is C"
    )
    assert judge("A", [59, 71, 73, 78]).sentence.startswith(
        "A does not match the notes: A (the root) and E (the 5) are missing and "
        "B (the 9) and F# (the 6) sound; what sounds is"
    )
    assert judge("C/E", [48, 52, 55]).sentence == (
        "C/E puts E in the bass, and C sounds lowest; what sounds is C"
    )
    assert judge("C", [52, 55, 60]).sentence == "C is exactly what sounds, with E (the 3) lowest"


def test_a_shape_name_written_as_a_concert_name_is_said_in_those_words() -> None:
    shape = [45, 52, 57, 60, 64]  # Am at the nut, from memory
    verdict = judge("Am", [n + 3 for n in shape], shape_midi=shape, key="Eb")
    assert verdict.word == "shape name"
    assert not verdict.agrees
    assert verdict.sentence == "Am is the shape name, not the concert name: what sounds is Cm"
    assert judge("Cm", [n + 3 for n in shape], shape_midi=shape).word == "exact"


def test_a_shape_that_leaves_out_its_fifth_still_bears_its_name() -> None:
    shape = [48, 52, 58, 60]  # C7 without its fifth
    assert judge("C7", [n + 2 for n in shape], shape_midi=shape).word == "shape name"
    assert judge("G7", [n + 2 for n in shape], shape_midi=shape).word == "contradicts"


def test_a_loose_name_for_the_shape_is_one_all_the_same() -> None:
    shape = [48, 52, 55, 62, 64]  # Cadd9
    verdict = judge("C", [n + 2 for n in shape], shape_midi=shape)
    assert verdict.word == "shape name"
    assert verdict.sentence == (
        "C names the shape (Cadd9), not the concert name: what sounds is Dadd9"
    )
    assert judge("D", [n + 2 for n in shape], shape_midi=shape).word == "adds"
    assert judge("Am7", [n + 2 for n in shape], shape_midi=shape).word == "contradicts"


def test_the_key_spells_the_concert_name() -> None:
    verdict = judge("C", [49, 53, 56], shape_midi=[48, 52, 55], key="C#")
    assert verdict.concert == "C#"


@given(KINDS, st.integers(48, 59))
def test_the_full_chord_is_exact(kind: ChordKind, root: int) -> None:
    assert judge(PLAIN_NAMES[root % 12] + kind.suffix, sounding(kind, root)).word == "exact"


@given(KINDS, st.integers(48, 59), st.integers(1, 11))
def test_a_moved_name_is_exact_only_if_the_notes_fit_both(
    kind: ChordKind, root: int, moved: int
) -> None:
    notes = sounding(kind, root)
    written = read_symbol(PLAIN_NAMES[(root + moved) % 12] + kind.suffix)
    fits = written.pitch_classes == {note % 12 for note in notes}
    assert (judge(written.symbol, notes).word == "exact") == fits


@given(KINDS, st.integers(48, 59), st.integers(1, 11))
def test_with_a_capo_the_shape_name_is_told_apart(kind: ChordKind, root: int, capo: int) -> None:
    shape = sounding(kind, root)
    written = read_symbol(PLAIN_NAMES[root % 12] + kind.suffix)
    concert = [note + capo for note in shape]
    same = written.pitch_classes == {note % 12 for note in concert}
    word = judge(written.symbol, concert, shape_midi=shape).word
    assert word == ("exact" if same else "shape name")


@given(st.lists(st.integers(40, 76), min_size=2, max_size=6))
def test_our_own_names_never_contradict_the_notes(notes: list[int]) -> None:
    for name in name_chord(notes):
        if name.plausible and not name.omits & {0, 3, 4}:
            verdict = judge(name.symbol, notes)
            assert (verdict.word == "exact") == (not name.omits and not name.adds)


UKULELE_F = [69, 60, 65, 69]  # 2010 on g C E A


def test_no_slash_is_held_against_a_name_where_the_lowest_note_is_no_bass() -> None:
    assert judge("F", UKULELE_F).sentence == "F is exactly what sounds"
    assert judge("F/A", UKULELE_F).word == "exact"
    assert judge("F/A", UKULELE_F, bass_counts=True).word == "contradicts"
    assert judge("F", UKULELE_F, bass_counts=True).sentence.endswith("with C (the 5) lowest")


def test_a_wrong_name_is_answered_without_a_slash_too() -> None:
    verdict = judge("G", UKULELE_F)
    assert verdict.word == "contradicts"
    assert verdict.concert == "F"


def test_what_sounds_is_spelled_by_function() -> None:
    verdict = judge("C", [49, 52, 55, 58], key="C")
    assert verdict.concert == "C#dim7"
