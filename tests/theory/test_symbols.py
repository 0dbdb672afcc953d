from __future__ import annotations

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from logbook.theory.kinds import ChordKind, all_kinds
from logbook.theory.notes import pitch_class
from logbook.theory.symbols import ChordSymbol, ChordSymbolError, read_symbol, transpose_symbol

SAME = {
    "C": "C CM Cmaj Cmajor C:maj",
    "Cm": "Cm C- Cmin Cmi Cminor C−",
    "Cmaj7": "Cmaj7 CM7 Cma7 CMaj7 CΔ CΔ7 C△7 C(maj7)",
    "Cm7": "Cm7 Cmin7 C-7 Cmi7 C:min7",
    "C7": "C7 Cdom7 C:7",
    "Cdim": "Cdim Co C° Cm(b5) Cmb5",
    "Cdim7": "Cdim7 Co7 C°7",
    "Cm7b5": "Cm7b5 Cø Cø7 C-7b5 Cmin7(b5) Cm7(♭5) Chalf-dim7 C:hdim7 Cm7-5 Cmi7(b5)",
    "Caug": "Caug C+ C(#5) C+5 Caugmented",
    "C7#5": "C7#5 C+7 Caug7 C7+ C7+5 C7(♯5)",
    "Cmaj7#5": "Cmaj7#5 C+M7 Caugmaj7 CM7(#5) Cmaj7+5",
    "Csus4": "Csus4 Csus C4",
    "Csus2": "Csus2",
    "C7sus4": "C7sus4 C7sus Csus7",
    "C9sus4": "C9sus4 C9sus Csus9",
    "Cadd9": "Cadd9 C2 Cadd2 C(add9) C(9)",
    "Cmadd9": "Cmadd9 Cm(add9) C-add9 Cm2",
    "C6": "C6 CM6 Cmaj6 Cadd6 C:maj6",
    "C69": "C69 C6/9 C6(9) C6add9 C6,9",
    "Cm6": "Cm6 Cmin6 C-6",
    "C7#9": "C7#9 C7(#9) C7+9 C7♯9",
    "C7b9": "C7b9 C7(b9) C7-9 C7♭9",
    "C7b9#11": "C7b9#11 C7(b9,#11) C7(b9)(#11)",
    "C7alt": "C7alt Calt C7altered C7(alt) C7b5#5b9#9",
    "C5": "C5 Cno3 C(no3) Comit3 C(no3rd)",
    "C7no3": "C7no3 C7(no3) C7omit3",
    "Cm(maj7)": "Cm(maj7) CmM7 Cmmaj7 CminMaj7 C-Δ7 Cm(M7) Cm(#7) Cm/maj7 Cm/M7",
    "Cm(maj9)": "Cm(maj9) CmM9 Cmmaj9",
    "C13": "C13 C7(9,13) C9(13)",
    "C13b9": "C13b9 C13(b9)",
    "C9b5": "C9b5 C9(b5)",
    "Cm7add11": "Cm7add11 Cm7(11) Cm7(add4)",
    "Cmaj7#11": "Cmaj7#11 CM7(#11) CΔ#11",
    "N.C.": "N.C. NC N.C n.c. N",
    "C9": "C9 C7/9 C7(9)",
    "C7add13": "C7/13 C7(13) C7/6",
    "Cm9": "Cm9 Cm7/9 C-7/9",
    "C7sus4b9": "C7sus4b9 C7b9sus C7/sus4/b9 C7sus(b9)",
    "Cm11": "Cm11 Cm9(11) Cm9/11",
    "C7add11": "C7add11 C7sus4add3 C7sus(add3)",
    "C(b13)add9": "Cadd9b13 Cadd9(b13)",
    "C(b9)": "C(b9) Cadd(b9) Caddb9 Cadd♭9",
}
SAME_WITH_SPACES = {
    "Cm": "C minor", "Cmaj7": "C major 7|C maj7|Cmaj 7", "Cm7": "C min 7|C m7", "Cdim": "C dim",
    "Cm7b5": "C half-dim|C half-diminished|C halfdim 7|C m7 b5", "Caug": "C aug|C augmented|CAUG",
    "Csus4": "C sus|C sus4", "Am7/G": "Am7 / G|A m7 /G|Am7/ G|Am7/g", "F#m/C#": "F#m/c#|F♯m / C♯",
    "Gm7/Bb": "Gm7/bb|Gm7/B♭", "C/B": "C/b",
    "Cm(maj9)": "Cm9(maj7)|Cm9 maj7|Cm9M7", "Cmaj9": "C9(maj7)", "Cm(maj11)": "Cm11(maj7)",
    "Cm(maj7)": "Cm+7|Cm7M", "C7sus4": "Csus4(7)|Csus4(b7)|C:sus4(b7)|C SUS7",
    "C7": "C(7)|C(b7)|C:maj(b7)", "Cdim7": "C DIM7",
    "C7alt": "C7 ALT|C7 alt.",
}  # fmt: skip


@pytest.mark.parametrize(
    ("written", "normal"),
    [(text, normal) for normal, all_ in SAME_WITH_SPACES.items() for text in all_.split("|")],
)
def test_spaces_capitals_and_roundabout_sevenths_change_nothing(written: str, normal: str) -> None:
    assert read_symbol(written).symbol == normal


@pytest.mark.parametrize(
    ("written", "normal"),
    [(text, normal) for normal, all_ in SAME.items() for text in all_.split()],
)
def test_the_ways_of_writing_a_chord_are_one_chord(written: str, normal: str) -> None:
    assert read_symbol(written).symbol == normal


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("C11", "R 3 5 b7 9 11"), ("C13", "R 3 5 b7 9 13"), ("Cm11", "R b3 5 b7 9 11"),
        ("C7alt", "R 3 b5 #5 b7 b9 #9"), ("Csus4add9", "R 4 5 9"), ("C5add9", "R 5 9"),
        ("C13sus4", "R 4 5 b7 9 13"), ("Cm(b6)", "R b3 5 b6"), ("C9no5", "R 3 b7 9"),
        ("Cmaj13#11", "R 3 5 7 9 #11 13"), ("Csus2sus4", "R 2 4 5"), ("Cdim(maj7)", "R b3 b5 7"),
    ],
)  # fmt: skip
def test_what_a_symbol_claims(text: str, degrees: str) -> None:
    assert read_symbol(text).degrees == tuple(degrees.split())


def test_notes_are_spelled_from_the_root() -> None:
    symbol = read_symbol("Gbm7b5/Fb")
    assert symbol.notes == ("Gb", "Bbb", "Dbb", "Fb")
    assert symbol.intervals == {0, 3, 6, 10}
    assert (symbol.root_pc, symbol.bass, symbol.bass_pc) == (6, "Fb", 4)
    assert symbol.guide_tones == ("Bbb", "Fb")
    assert symbol.pitch_classes == {6, 9, 0, 4}
    assert read_symbol("C").guide_tones == ()


def test_spaces_may_stand_between_changes() -> None:
    assert read_symbol(" C7 (b9 #11) ").symbol == "C7b9#11"


def test_no_chord_has_no_notes() -> None:
    symbol = read_symbol("N.C.")
    assert symbol.is_no_chord
    assert symbol.pitch_classes == frozenset()
    assert symbol.transpose(3) == symbol


@pytest.mark.parametrize(
    ("text", "character"),
    [
        ("H7", 1), ("c7", 1), ("", 1), ("Cmaj7x", 6), ("C7(b9", 6), ("C/", 3), ("C/H", 3),
        ("Cadd5", 5), ("Cm7)", 4), ("C7b8", 3), ("Cblah", 3), ("Cno", 4), ("Am7/G/E", 6),
        ("C7#13", 3), ("Cm77", 4), ("C/ê", 3), ("Cdim5", 5),
        ("C/3", 3), ("C/h", 3), ("Cmaj7(b7)", 7), ("C7(maj7)", 4), ("Cadd(b9", 8), ("C /", 4),
        ("Am7 / ", 6), ("Cm6(7", 6), ("C7sus4add5", 10), ("CAUX", 2),
    ],
)  # fmt: skip
def test_an_error_points_at_the_character(text: str, character: int) -> None:
    with pytest.raises(ChordSymbolError) as caught:
        read_symbol(text)
    assert caught.value.position + 1 == character
    assert caught.value.remedy
    if character <= len(text):
        assert f"at character {character}" in str(caught.value)


@given(st.text(alphabet="ABCDEFGbm#7o+-/()sudaj91235640 ,lt♭Δø", max_size=9))
def test_any_text_is_read_or_refused_and_reading_is_stable(text: str) -> None:
    try:
        symbol = read_symbol(text)
    except ChordSymbolError as caught:
        error = caught
        event("refused")
    else:
        event("read")
        _assert_stable(symbol)
        return
    assert 0 <= error.position <= len(text)


def _assert_stable(symbol: ChordSymbol) -> None:
    again = read_symbol(symbol.symbol)
    assert again.intervals == symbol.intervals
    assert again.symbol == symbol.symbol
    assert (again.root, again.bass) == (symbol.root, symbol.bass)


@pytest.mark.parametrize("kind", all_kinds(), ids=lambda kind: kind.suffix or "major")
def test_every_printed_suffix_reads_back(kind: ChordKind) -> None:
    assert set(read_symbol("E" + kind.suffix).degrees) == set(kind.degrees)


@given(st.sampled_from(all_kinds()), st.integers(-11, 11), st.sampled_from(["C", "F#", "Bb/D"]))
def test_transposing_moves_every_note(kind: ChordKind, semitones: int, root: str) -> None:
    name, _, bass = root.partition("/")
    text = name + kind.suffix + (f"/{bass}" if bass else "")
    before, after = read_symbol(text), read_symbol(text).transpose(semitones)
    assert after.intervals == before.intervals
    assert after.pitch_classes == {(pc + semitones) % 12 for pc in before.pitch_classes}
    assert all(pitch_class(note) in after.pitch_classes for note in after.notes)


def test_a_key_spells_what_arrives_in_it() -> None:
    assert transpose_symbol("C7/E", 1, "Db") == "Db7/F"
    assert transpose_symbol("Am", 4) == "C#m"
    assert read_symbol("C#m7").respell("Ab").symbol == "Dbm7"
