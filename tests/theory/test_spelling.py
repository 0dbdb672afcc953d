# ruff: noqa: E501
"""The spelling engine: roots by function, tones by their root, written roots by fifths."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.theory import name_chord, name_to_midi, parse_key, read_symbol
from logbook.theory.keys import ALL_KEYS, Key
from logbook.theory.kinds import ChordKind, all_kinds
from logbook.theory.notes import pitch_class
from logbook.theory.spelling import moved_root, note_beside, spell_root

KEYS = st.sampled_from(ALL_KEYS)
KINDS = st.sampled_from(all_kinds())


def root_of(symbol: str, key: str, after: str | None = None) -> str:
    chord = read_symbol(symbol)
    assert chord.root_pc is not None
    return spell_root(chord.root_pc, chord.degrees, parse_key(key), after)


@pytest.mark.parametrize(("written", "key", "root"), [
    # Diminished sevenths outside the key: the raised degree below the next scale tone.
    ("Dbdim7", "C", "C#"), ("Ebdim7", "C", "D#"), ("Gbdim7", "C", "F#"), ("Abdim7", "C", "G#"),
    ("Bbdim7", "C", "A#"), ("Dbdim7", "Am", "C#"), ("Ebdim7", "Am", "D#"), ("Abdim7", "Am", "G#"),
    ("Gbdim7", "F", "F#"), ("Dbdim7", "F", "C#"), ("Abdim7", "F", "G#"), ("Bdim7", "Bb", "B"),
    ("F#dim7", "Bb", "F#"), ("Abdim7", "G", "G#"), ("Dbdim7", "G", "C#"), ("Edim7", "Eb", "E"),
    ("Adim7", "Eb", "A"), ("Gbm7b5", "C", "F#"), ("Dbm7b5", "C", "C#"),
    # The key's own keep their names, double sharp or not.
    ("Ddim7", "C", "D"), ("Gdim7", "G#m", "F##"), ("Ddim7", "D#m", "C##"), ("G#dim", "Am", "G#"),
    # Augmented sixths, the Neapolitan, borrowed chords.
    ("G#7", "C", "Ab"), ("C#", "C", "Db"), ("C#7", "C", "Db"), ("A#", "C", "Bb"), ("D#", "C", "Eb"),
    ("G#", "C", "Ab"), ("F7", "Am", "F"), ("A#", "Am", "Bb"), ("G#", "Gm", "Ab"), ("B", "Eb", "Cb"),
    # Roots that would force double accidentals.
    ("Bbb7", "Db", "A"), ("Ebb", "Gb", "D"), ("C##", "D#m", "D"), ("F##", "G#m", "G"), ("Fb7", "Gb", "E"),
    ("B#7", "C#", "C"), ("E#7", "F#", "F"), ("Fbm", "Db", "E"), ("Dbm", "C", "C#"), ("Gbmaj7", "C", "Gb"),
    # Applied dominants on roots of the scale keep them.
    ("Eb7", "F#", "D#"), ("Bb7", "B", "A#"), ("Ab7", "E", "G#"), ("Ab7", "A", "G#"),
])  # fmt: skip
def test_roots_by_function(written: str, key: str, root: str) -> None:
    assert root_of(written, key) == root


@pytest.mark.parametrize(("written", "key", "after", "root"), [
    ("D#dim7", "C", "D", "Eb"), ("Ebdim7", "C", "E", "D#"), ("G#dim7", "C", "G", "Ab"), ("Abdim7", "C", "A", "G#"),
    ("C#dim7", "C", "D", "C#"), ("Dbdim7", "C", "C", "C#"), ("Gbdim7", "C", "F", "F#"), ("Bbdim7", "C", "B", "A#"),
    ("A#dim7", "C", "A", "Bb"), ("F#7", "C", "F", "Gb"), ("Gb7", "C", "B", "F#"), ("C#7", "C", "C", "Db"),
    ("Db7", "C", "F#", "C#"), ("D#m7", "C", "Ab", "Eb"), ("G#m7", "C", "Db", "Ab"), ("Abm7", "C", "C#", "G#"),
    ("Ebdim7", "Bb", "E", "D#"), ("Fdim7", "B", "G#", "E#"), ("Gdim7", "B", "G#", "G"),
])  # fmt: skip
def test_the_chord_after_decides(written: str, key: str, after: str, root: str) -> None:
    assert root_of(written, key, after) == root


def test_without_a_key_only_a_diminished_chord_looks_ahead() -> None:
    assert spell_root(3, ("R", "b3", "b5", "bb7")) == "Eb"
    assert spell_root(3, ("R", "b3", "b5", "bb7"), None, "E") == "D#"
    assert spell_root(1, ("R", "3", "5")) == "Db"


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_a_chords_tones_take_their_letters_from_its_root_in_every_key(key: Key) -> None:
    """Each is a third or a fifth above its root by its letter as well."""
    for kind in all_kinds()[::4]:
        for root in range(12):
            notes = [root + 48 + interval for interval in sorted(kind.intervals)]
            for name in name_chord(notes, key=key)[:1]:
                symbol = read_symbol(name.symbol)
                assert list(name.notes) == list(symbol.notes)
                for note in symbol.notes:
                    if len(note) < 4:  # a third of a third on B# would be a triple sharp
                        assert name.note_of(pitch_class(note)) == note


@given(st.integers(0, 11), KINDS, KEYS, st.none() | st.sampled_from(["C", "F#", "Bb", "Eb", "A"]))
def test_a_root_sounds_as_asked_and_takes_a_double_accidental_only_as_a_leading_note(
    pc: int, kind: ChordKind, key: Key, after: str | None
) -> None:
    root = spell_root(pc, kind.degrees, key, after)
    assert pitch_class(root) == pc
    if len(root) > 2:
        assert root == read_symbol(root).root
        assert key.is_minor
        assert {"b3", "b5"} <= set(kind.degrees)


@pytest.mark.parametrize(("root", "old", "new", "moved"), [
    ("C#", "C", "Bb", "B"), ("C#", "C", "F", "F#"), ("Db", "C", "D", "Eb"), ("F#", "C", "Eb", "A"),
    ("Bb", "C", "A", "G"), ("Bb", "C", "B", "A"), ("Ab", "C", "E", "C"), ("G#", "A", "C", "B"),
])  # fmt: skip
def test_a_written_root_moves_by_fifths(root: str, old: str, new: str, moved: str) -> None:
    degrees = read_symbol("C7").degrees
    assert moved_root(root, degrees, parse_key(old), parse_key(new)) == moved


@given(st.sampled_from(["C", "Db", "F#", "Bb", "E", "G#", "Eb", "A"]), KINDS, KEYS, KEYS)
def test_a_chord_moved_is_the_same_chord_higher(
    root: str, kind: ChordKind, old: Key, new: Key
) -> None:
    if old.mode != new.mode:
        new = new.relative
    by = (new.pitch_class - old.pitch_class) % 12
    here = read_symbol(root + kind.suffix)
    there = here.transpose(by, new, old=old)
    assert there.root_pc == (pitch_class(root) + by) % 12
    assert there.degrees == here.degrees
    if old == new:
        assert there == here


def test_a_root_that_was_written_is_kept_when_nothing_moves() -> None:
    for symbol in ("C#dim7", "Dbdim7", "A#7", "Fbmaj7", "E#m7b5/B"):
        assert read_symbol(symbol).transpose(0, "C", old="C").symbol == symbol
        assert read_symbol(symbol).transpose(12, "C").symbol == symbol


@pytest.mark.parametrize(("note", "chord", "key", "name"), [
    ("G#3", "E7", "C", "G#"), ("C#4", "A7", "C", "C#"), ("D#3", "B7", "C", "D#"), ("G#3", "E", "E", "G#"),
    ("F#4", "Cmaj7#11", "Bb", "F#"), ("E2", "A", "Db", "E"), ("E2", "Gb", "Gb", "E"), ("D3", "D#m", "D#m", "D"),
    ("D3", "A#7", "B", "C##"), ("B2", "C", "Gb", "Cb"), ("E2", "Dbm7", "Gb", "Fb"), ("A#3", "C7", "F", "Bb"),
])  # fmt: skip
def test_notes_beside_a_chord(note: str, chord: str, key: str, name: str) -> None:
    symbol = read_symbol(chord)
    assert note_beside(name_to_midi(note), symbol.root, symbol.degrees, parse_key(key)) == name
