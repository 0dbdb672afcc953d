from __future__ import annotations

from collections.abc import Sequence
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory import ChordName, name_chord, name_to_midi, read_symbol
from logbook.theory.degrees import degree_semitones
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.kinds import ChordKind, all_kinds

VOICINGS = st.lists(st.integers(36, 84), min_size=1, max_size=7).map(sorted)
ANY_ORDER = st.lists(st.integers(36, 84), min_size=1, max_size=7)
KEYS = st.none() | st.sampled_from(ALL_KEYS)
# Kinds that share their notes with a commoner name over the same bass, and that name over C.
COMMONER = {
    "7#11": "C9#11",  # an eleventh over a seventh implies the ninth, as in 11 and 13
    "m7add11": "Cm11", "7add11": "C11", "7add13": "C13", "m7add13": "Cm13",
    "maj7add13": "Am9/C", "m6add11": "F9/C", "m69add11": "F13/C",
    "7#11add13": "C13#11", "13b5": "C13#11", "6add11": "Fmaj9/C", "m7b13": "Abmaj9/C",
    "augadd9": "E7#5/B#", "maj7sus2": "G/C", "7sus2": "Gm/C",
    "dim9": "D7b9/C", "m(b6)": "Abmaj7/C", "m(#5)": "Ab/C", "m7#5": "Abadd9/C",
}  # fmt: skip

UKULELE, MANDOLIN = "G4 C4 E4 A4", "G3 D4 A4 E5"


def midi(names: str) -> list[int]:
    return [name_to_midi(name) for name in names.split()]


def first(notes: Sequence[int], *, key: str | None = None, bass: int | None = None) -> str:
    return name_chord(notes, key=key, bass=bass)[0].symbol


def close_voicing(kind: ChordKind, root: int) -> list[int]:
    """Root position with the tensions above the octave, as an arranger would write it down."""
    return [
        root + degree_semitones(degree) + (12 if degree.lstrip("b#") in ("9", "11", "13") else 0)
        for degree in kind.degrees
    ]


@pytest.mark.parametrize("kind", all_kinds(), ids=lambda kind: kind.suffix or "major")
def test_every_kind_in_root_position_is_named_as_itself(kind: ChordKind) -> None:
    for root in range(48, 60):
        names = name_chord(close_voicing(kind, root))
        itself = [n for n in names if (n.root, n.suffix) == (root % 12, kind.suffix)]
        assert itself
        assert itself[0].omits == itself[0].adds == frozenset()
        if kind.suffix not in COMMONER:
            assert names[0] == itself[0]


@pytest.mark.parametrize(("suffix", "commoner"), COMMONER.items())
def test_where_a_commoner_name_has_the_same_notes_it_comes_first(
    suffix: str, commoner: str
) -> None:
    kind = next(kind for kind in all_kinds() if kind.suffix == suffix)
    assert first(close_voicing(kind, 48)) == commoner


@given(VOICINGS, st.integers(-12, 12), st.none() | st.integers(0, 11))
def test_a_voicing_is_named_alike_in_every_transposition(
    notes: list[int], by: int, bass: int | None
) -> None:
    here = name_chord(notes, bass=bass)
    there = name_chord([n + by for n in notes], bass=None if bass is None else bass + by)
    assert [shape(name) for name in here] == [shape(name) for name in there]


def shape(name: ChordName) -> tuple[object, ...]:
    return (
        (name.root - name.bass) % 12, name.suffix, name.intervals, name.omits, name.adds, name.cost,
    )  # fmt: skip


@given(ANY_ORDER, st.randoms(use_true_random=False), KEYS)
def test_where_the_bass_counts_neither_unisons_nor_the_order_change_anything(
    notes: list[int], random: Random, key: Key | None
) -> None:
    doubled = [*notes, random.choice(notes)]
    random.shuffle(doubled)
    there = name_chord(doubled, key=key, bass_counts=True)
    assert name_chord(sorted(notes), key=key) == there


@given(ANY_ORDER, KEYS)
def test_where_the_lowest_note_is_no_bass_every_name_still_accounts_for_every_note(
    notes: list[int], key: Key | None
) -> None:
    for name in name_chord(notes, key=key, bass_counts=False):
        claimed = (name.intervals - name.omits) | name.adds
        sounding = {(name.root + n) % 12 for n in claimed}
        if name.bass != name.root and name.named:  # a slash names a note foreign to the chord
            assert f"/{name.bass_name}" in name.symbol
            sounding.add(name.bass)
        assert sounding == {n % 12 for n in notes}


@given(ANY_ORDER)
def test_a_first_note_that_is_not_the_lowest_is_no_bass(notes: list[int]) -> None:
    counts = notes[0] == min(notes)
    assert name_chord(notes) == name_chord(notes, bass_counts=counts)


@given(VOICINGS, KEYS, st.none() | st.integers(0, 11))
def test_every_name_accounts_for_every_note(
    notes: list[int], key: Key | None, bass: int | None
) -> None:
    low = min(notes) % 12 if bass is None else bass
    sounding = {n % 12 for n in notes} | {low}
    for name in name_chord(notes, key=key, bass=bass):
        claimed = (name.intervals - name.omits) | name.adds
        assert name.omits <= name.intervals
        assert not name.adds & name.intervals
        assert name.bass == low
        assert {(name.root + n) % 12 for n in claimed} | {low} == sounding


@given(VOICINGS, KEYS)
def test_every_symbol_reads_back_as_what_it_claims(notes: list[int], key: Key | None) -> None:
    for name in name_chord(notes, key=key):
        if name.named:
            read = read_symbol(name.symbol)
            assert read.intervals == name.intervals
            assert (read.root_pc, read.bass_pc) == (name.root, name.bass)
            assert name.why.endswith(".")


@given(VOICINGS, KEYS)
def test_names_are_ranked_and_none_comes_twice(notes: list[int], key: Key | None) -> None:
    names = name_chord(notes, key=key)
    costs = [name.cost for name in names if name.named]
    assert costs == sorted(costs)
    assert len({(name.root, name.suffix, name.named) for name in names}) == len(names)


@pytest.mark.parametrize(
    ("notes", "symbol"),
    [
        ("E3 G3 C4", "C/E"), ("G3 C4 E4", "C/G"), ("Eb3 G3 C4", "Cm/Eb"), ("G3 C4 Eb4", "Cm/G"),
        ("Gb3 C4 Eb4", "Cdim/Gb"), ("E3 G3 Bb3 C4", "C7/E"), ("Bb2 C3 E3 G3", "C7/Bb"),
        ("B2 C4 E4 G4", "Cmaj7/B"), ("Gb3 Bb3 C4 Eb4", "Cm7b5/Gb"), ("G3 C4 F4", "Csus4/G"),
        ("G3 C4 F4 Bb4", "C7sus4/G"), ("C3 G3 B3 D4", "G/C"), ("F3 G3 B3 D4", "G7/F"),
        ("C3 F3 Bb3 D4", "Bb/C"), ("D3 E3 G3 C4", "C/D"), ("G2 D3 F3 A3 C4", "G9sus4"),
    ],
)  # fmt: skip
def test_inversions_and_foreign_basses(notes: str, symbol: str) -> None:
    assert first(midi(notes)) == symbol


@pytest.mark.parametrize(
    ("notes", "symbol", "omits"),
    [
        ("C3 E3 Bb3", "C7", {7}), ("C3 Eb3 Bb3", "Cm7", {7}), ("C3 E3 B3", "Cmaj7", {7}),
        ("C3 E3 Bb3 D4", "C9", {7}), ("C3 E3 Bb3 A4", "C13", {2, 7}), ("C3 E3", "C", {7}),
        ("C3 E3 Bb3 Eb4", "C7#9", {7}), ("C3 E3 G3 Bb3 F4", "C11", {2}), ("C3 G3", "C5", set()),
        ("C3 Eb3", "Cm", {7}),
    ],
)  # fmt: skip
def test_what_players_leave_out_is_said(notes: str, symbol: str, omits: set[int]) -> None:
    best = name_chord(midi(notes))[0]
    assert (best.symbol, best.omits) == (symbol, frozenset(omits))


@pytest.mark.parametrize(
    ("notes", "bass", "symbol"),
    [
        ("B3 F4", 7, "G7"), ("B3 F4", 1, "Db7"), ("E4 B4", 0, "Cmaj7"), ("F3 C4", 2, "Dm7"),
        ("Eb4 B4", 0, "Cm(maj7)"), ("E4 Bb4 D5", 0, "C9"),
    ],
)  # fmt: skip
def test_guide_tones_over_a_bass_imply_their_chord(notes: str, bass: int, symbol: str) -> None:
    best = name_chord(midi(notes), bass=bass)[0]
    assert best.symbol == symbol
    assert {n % 12 for n in midi(notes)} >= set(best.guide_tones)


def test_two_names_for_the_same_notes_are_ranked_by_bass_then_key_then_the_chord_before() -> None:
    assert [n.symbol for n in name_chord(midi("C3 E3 G3 A3"))[:2]] == ["C6", "Am7/C"]
    assert first(midi("A2 C3 E3 G3")) == "Am7"
    assert first(midi("C3 E3 G3 A3"), key="Am") == "C6"
    on_the_fifth = midi("G2 C3 E3 A3")
    assert first(on_the_fifth, key="C") == "C6/G"
    assert first(on_the_fifth, key="Am") == "Am7/G"
    assert name_chord(on_the_fifth, before="E7")[0].symbol == "Am7/G"
    assert name_chord(on_the_fifth, before="G7")[0].symbol == "C6/G"


def test_the_reason_says_bass_notes_key_and_the_chord_before() -> None:
    best = name_chord(midi("C3 E3 Bb3"), key="F", before="G7")[0]
    assert best.why == (
        "The root is in the bass; it leaves out 5; all of it lies in F major; "
        "G7 before it leads there."
    )
    assert "its 3, is in the bass" in name_chord(midi("E3 G3 C4"))[0].why
    assert "foreign to the chord" in name_chord(midi("C3 G3 B3 D4"))[0].why


@pytest.mark.parametrize("notes", ["C4 C#4 D4", "C4 C#4", "C4", "C4 C5", "B3 C4 C#4 D4"])
def test_what_deserves_no_name_is_listed_instead(notes: str) -> None:
    best = name_chord(midi(notes))[0]
    assert not best.named
    assert not best.plausible
    assert best.symbol.startswith("(")
    assert best.intervals == {(n - min(midi(notes))) % 12 for n in midi(notes)}
    assert all(note.rstrip("345") in best.why for note in notes.split())


@pytest.mark.parametrize("suffix", [
    "13b9#11", "13#9#11", "7b9#11b13", "7#9#11b13", "9#11b13", "7#11b13", "9#5#11", "13sus4b9",
    "7sus4b9b13", "m7b5b9", "m11b9", "maj7#9", "maj7#9#11", "maj7#5#11", "maj7b13", "m9b13",
])  # fmt: skip
def test_alterations_combine_in_any_order_of_the_notes(suffix: str) -> None:
    symbol = read_symbol("C" + suffix)
    for low in symbol.intervals:
        names = name_chord([36 + low, *(48 + interval for interval in symbol.intervals)])
        assert (0, symbol.intervals) in {(name.root, name.intervals) for name in names}
        if low == 0:
            assert (names[0].root, names[0].intervals) == (0, symbol.intervals)


@pytest.mark.parametrize(("notes", "bass", "symbol"), [
    ("G4 D4 E4 A4", 0, "C69"), ("A4 D4 Eb4 G4", 0, "Cm69"), ("D4 E4 G4 A4", 0, "C69"),
])  # fmt: skip
def test_a_six_nine_chord_may_leave_its_root_to_the_bass(
    notes: str, bass: int, symbol: str
) -> None:
    wanted = name_chord(midi(notes), bass=bass)[0]
    assert wanted.symbol == symbol
    alone = {(name.root, name.intervals) for name in name_chord(midi(notes))}
    assert (wanted.root, wanted.intervals) in alone


def test_a_bass_takes_a_double_accidental_only_where_the_key_has_it() -> None:
    symbols = {name.symbol for name in name_chord(midi("C3 Eb3 Gb3 A3"))}
    assert "Ebdim7/C" in symbols
    assert not any("bb" in symbol.rpartition("/")[2] for symbol in symbols)
    assert first(midi("G2 D#3 A#3 C#4 G4"), key="G# minor") == "D#7/F##"


def test_a_rootless_chord_says_so() -> None:
    names = name_chord(midi("E3 Bb3 D4 A4"))
    rootless = next(name for name in names if name.root == 0 and name.suffix == "13")
    assert rootless.rootless
    assert rootless.why.startswith("The root is left to another part; it leaves out 5")


@pytest.mark.parametrize(
    ("notes", "key", "symbol"),
    [
        ("C#3 E#3 G#3", "Db", "Db"), ("Db3 F3 Ab3", "F#", "C#"),
        ("G3 Bb3 Db4 Fb4", "G#m", "F##dim7"),
        ("E3 G#3 B3", "Cb", "Fb"), ("F3 Ab3 C4", "C#", "E#m"), ("Bb2 D3 F3", "D#m", "A#"),
        ("F3 Bb3 Db4", "Db", "Bbm/F"), ("F3 Bb3 Db4", "F#", "A#m/E#"),
    ],
)  # fmt: skip
def test_the_key_spells_root_and_bass(notes: str, key: str, symbol: str) -> None:
    assert first(midi(notes), key=key) == symbol


@pytest.mark.parametrize(
    ("frets", "tuning", "symbol"),
    [
        # Common shapes, from memory. Ukulele, re-entrant.
        ("0003", UKULELE, "C"), ("2010", UKULELE, "F"), ("0232", UKULELE, "G"),
        ("2000", UKULELE, "Am"), ("2210", UKULELE, "Dm"), ("0001", UKULELE, "C7"),
        ("0212", UKULELE, "G7"), ("0432", UKULELE, "Em"), ("2223", UKULELE, "D7"),
        ("0002", UKULELE, "Cmaj7"),
        # Mandolin.
        ("0023", MANDOLIN, "G"), ("2002", MANDOLIN, "D/A"), ("0230", MANDOLIN, "C/G"),
        ("1224", MANDOLIN, "E/G#"),
        # Guitar in DADGAD and in open G, five-string banjo.
        ("000200", "D2 A2 D3 G3 A3 D4", "D5"), ("000000", "D2 A2 D3 G3 A3 D4", "Dsus4"),
        ("000000", "D2 G2 D3 G3 B3 D4", "G/D"), ("22222", "G4 D3 G3 B3 D4", "A"),
        # Four-string bass with a double stop.
        ("x02x", "E1 A1 D2 G2", "A5"),
    ],
)  # fmt: skip
def test_other_instruments_and_tunings(frets: str, tuning: str, symbol: str) -> None:
    notes = [o + int(f) for f, o in zip(frets, midi(tuning), strict=True) if f != "x"]
    assert first(notes) == symbol


@pytest.mark.parametrize(
    ("notes", "symbol"),
    [
        # Drop-2 and shell voicings of the piano and guitar books; common practice, no source.
        ("C3 G3 B3 E4", "Cmaj7"), ("D3 A3 C4 F4", "Dm7"), ("G2 D3 F3 B3", "G7"),
        ("B2 F3 A3 D4", "Bm7b5"),
        ("C3 Bb3 E4 A4 D5", "C13"), ("C2 E3 A3 D4 G4", "C69"), ("D3 G3 C4 F4 A4", "Dm11"),
        ("F2 A3 Eb4 G4 B4", "F9#11"), ("G2 F3 B3 E4 Ab4", "G13b9"),
    ],
)  # fmt: skip
def test_arranged_voicings(notes: str, symbol: str) -> None:
    assert name_chord(midi(notes))[0].root == read_symbol(symbol).root_pc
    assert first(midi(notes)) in (symbol, symbol.replace("F9#11", "F9b5"))


def test_degrees_and_notes_of_a_voicing() -> None:
    best = name_chord(midi("Db3 F3 Cb4 Fb4"), key="Gb")[0]
    assert best.symbol == "Db7#9"
    assert [best.degree_of(n) for n in midi("Db3 F3 Cb4 Fb4")] == ["R", "3", "b7", "#9"]
    assert best.notes == ("Db", "F", "Ab", "Cb", "E")
    assert best.note_of(name_to_midi("Ab3")) == "Ab"


def test_no_notes_is_an_error() -> None:
    with pytest.raises(LogbookError, match="no notes to name"):
        name_chord([])


def test_a_key_or_chord_before_that_cannot_be_read_is_an_error() -> None:
    with pytest.raises(LogbookError, match="no key of G# major"):
        name_chord([60, 64, 67], key="G#")
    with pytest.raises(LogbookError, match="cannot be read as a chord"):
        name_chord([60, 64, 67], before="H7")
