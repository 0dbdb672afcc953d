from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.theory.harmony import diatonic_chords
from logbook.theory.keys import ALL_KEYS, Key, parse_key
from logbook.theory.likely import likely_keys
from logbook.theory.symbols import transpose_symbol
from tests.theory.progressions import HARDER, MORE, PLAIN


@pytest.mark.parametrize(
    ("chords", "key"),
    [
        ("C Am F G C", "C"), ("Am F C G Am", "Am"), ("Dm7 G7 Cmaj7", "C"), ("Db Gb Ab Db", "Db"),
        ("C#m A E B C#m", "C#m"), ("E7 Am", "Am"), ("A7 D7 A7 E7 A7", "A"), ("F# B C# F#", "F#"),
        ("Gb Cb Db7 Gb", "Gb"), ("G D Em C G", "G"), ("Bm7b5 E7 Am", "Am"), ("Em", "Em"),
        ("C N.C. G7 C", "C"),
    ],
)  # fmt: skip
def test_the_first_key_is_the_one_a_player_would_say(chords: str, key: str) -> None:
    assert likely_keys(chords.split())[0].key.short == key


def test_each_key_has_its_reason() -> None:
    first, second, *_ = likely_keys(["Dm7", "G7", "Cmaj7"])
    assert first.reason == "every chord lies in it; it ends on the tonic; G7 leads to Cmaj7"
    assert first.score > second.score
    blues = likely_keys(["A7", "D7", "E7", "A7"])[0]
    assert blues.reason.startswith("1 of 4 chords lies in it (A7, D7 outside)")


@given(st.sampled_from([key for key in ALL_KEYS if abs(key.fifths) <= 6]), st.integers(-6, 6))
def test_a_cadence_in_any_key_is_found_and_moves_with_it(key: Key, by: int) -> None:
    chords = [c.symbol for c in diatonic_chords(key, raised_seventh=True)]
    cadence = [chords[0], chords[3], chords[4], chords[0]]
    found = likely_keys(cadence)[0].key
    assert (found.pitch_class, found.mode) == (key.pitch_class, key.mode)
    moved = key.transpose(by)
    there = [c.symbol for c in diatonic_chords(moved, raised_seventh=True)]
    assert likely_keys([there[0], there[3], there[4], there[0]])[0].score == (
        likely_keys(cadence)[0].score
    )


def test_no_chords_is_an_error() -> None:
    with pytest.raises(LogbookError, match="no chord to find a key for"):
        likely_keys(["N.C."])


def test_power_chords_may_be_the_tonic_of_either_mode() -> None:
    assert likely_keys(["C5", "D5", "E5"])[0].key.tonic == "E"
    assert "ends on the tonic" in likely_keys(["C5", "D5", "E5"])[0].reason


@pytest.mark.parametrize(("chords", "keys"), [*PLAIN.items(), *HARDER.items(), *MORE.items()])
def test_the_key_of_a_progression(chords: str, keys: str) -> None:
    assert likely_keys(chords.split())[0].key.short in keys.split("|")


@pytest.mark.parametrize(("chords", "keys"), [*PLAIN.items(), *HARDER.items()])
@pytest.mark.parametrize("by", [1, 4, 7])
def test_a_progression_moved_is_in_its_key_moved(chords: str, keys: str, by: int) -> None:
    wanted = parse_key(keys.partition("|")[0]).transpose(by)
    moved = [transpose_symbol(chord, by, wanted) for chord in chords.split()]
    found = likely_keys(moved)[0].key
    here = likely_keys(chords.split())[0].key
    assert found.pitch_class == (here.pitch_class + by) % 12
    assert found.mode == here.mode


def test_why_a_turnaround_is_in_its_key() -> None:
    assert "F7 leads back to it" in likely_keys(["Bb", "G7", "Cm7", "F7"])[0].reason
