"""Names by the role of the instrument, by register, and what the sequence of notes may be.

The frets are named by hand; common practice, no source.
"""

from __future__ import annotations

from array import array
from fractions import Fraction

import numpy as np
import pytest

from logbook.errors import LogbookError
from logbook.theory import name_chord, name_to_midi, read_symbol

GUITAR = "E2 A2 D3 G3 B3 E4"
HIGH_STRUNG = "E3 A3 D4 G4 B3 E4"
UKULELE = "G4 C4 E4 A4"
LOW_G = "G3 C4 E4 A4"
BANJO = "G4 D3 G3 B3 D4"
BASS = "E1 A1 D2 G2"


def sounding(frets: str, tuning: str) -> list[int]:
    """Notes in the order of the strings: one fret a character, or separated by spaces."""
    each = frets.split() if " " in frets else list(frets)
    strings = [name_to_midi(name) for name in tuning.split()]
    return [note + int(fret) for note, fret in zip(strings, each, strict=True) if fret != "x"]


def first(frets: str, tuning: str = GUITAR, **said: object) -> str:
    return name_chord(sounding(frets, tuning), **said)[0].symbol  # type: ignore[arg-type]


@pytest.mark.parametrize(("frets", "symbol"), [
    ("0003", "C"), ("2010", "F"), ("0232", "G"), ("2000", "Am"), ("2210", "Dm"), ("0432", "Em"),
    ("0001", "C7"), ("0212", "G7"), ("2223", "D7"), ("0002", "Cmaj7"), ("2100", "A"), ("2220", "D"),
    ("1202", "E7"), ("0100", "A7"), ("3211", "Bb"), ("1013", "Fm"), ("4442", "E"), ("0231", "Gm"),
    ("2310", "F7"), ("0333", "Cm"), ("0222", "Gmaj7"), ("1212", "G#dim7"),
    ("0331", "Eb"), ("4322", "B"), ("4222", "Bm"),
])  # fmt: skip
def test_a_ukulele_has_no_bass(frets: str, symbol: str) -> None:
    best = name_chord(sounding(frets, UKULELE))[0]
    wanted = read_symbol(symbol)
    assert "/" not in best.symbol
    if symbol.endswith("dim7"):
        assert best.suffix == "dim7"
    else:
        assert (best.root, best.intervals) == (wanted.root_pc, wanted.intervals)


@pytest.mark.parametrize(("frets", "symbol"), [
    ("00000", "G"), ("02012", "C"), ("22222", "A"), ("05555", "C"), ("02210", "C69"),
])  # fmt: skip
def test_a_banjo_drones_and_has_no_bass(frets: str, symbol: str) -> None:
    assert first(frets, BANJO) == symbol


@pytest.mark.parametrize("frets", [
    "x32010", "320003", "x02210", "xx0232", "022100", "133211", "x02020", "x21202", "320001",
    "x32000", "xx0231", "022000", "x24432", "xx0212", "x13331", "x35543", "355433", "x02010",
])  # fmt: skip
def test_high_strings_keep_the_name_of_the_shape(frets: str) -> None:
    usual, high = (name_chord(sounding(frets, each))[0] for each in (GUITAR, HIGH_STRUNG))
    assert (high.root, high.suffix) == (usual.root, usual.suffix)
    assert high.symbol == usual.symbol


def test_a_low_g_is_a_bass() -> None:
    assert first("2010", LOW_G) == "F/A"
    assert first("2010", LOW_G, bass_counts=False) == "F"
    assert first("0003", LOW_G) == "C/G"


def test_bass_counts_overrides_the_order() -> None:
    assert first("2010", UKULELE, bass_counts=True) == "F/C"
    assert first("332010", GUITAR, bass_counts=False) == "C"
    assert first("332010", GUITAR) == "C/G"
    assert name_chord([64, 60, 67]) == name_chord([64, 60, 67], bass_counts=False)
    assert name_chord([64, 60, 67], bass_counts=True)[0].symbol == "C"


def test_why_says_that_there_is_no_bass() -> None:
    assert "no bass on these strings" in name_chord(sounding("2010", UKULELE))[0].why


def test_another_parts_bass_counts_on_any_strings() -> None:
    assert first("2010", UKULELE, bass=2) == "Dm7"
    assert first("0003", UKULELE, bass=9) == "Am7"


@pytest.mark.parametrize(("frets", "symbol"), [
    ("x02x", "A5"), ("0xx4", "E5"), ("3x54", "G"), ("3xx4", "G"), ("32xx", "G"), ("1xx1", "Fm"),
    ("x30x", "Csus2"), ("x3x3", "C7"), ("5xx6", "A"), ("5xx5", "Am"),
])  # fmt: skip
def test_two_notes_on_a_bass_are_what_they_imply(frets: str, symbol: str) -> None:
    assert first(frets, BASS) == symbol


@pytest.mark.parametrize(("interval", "symbol"), [
    (3, "Em"), (4, "E"), (5, "A5/E"), (7, "E5"), (8, "C/E"), (9, "C#m/E"), (10, "E7"),
    (11, "Emaj7"), (15, "Em"), (16, "E"), (6, "Edim"),
])  # fmt: skip
def test_each_two_note_chord_of_a_bass(interval: int, symbol: str) -> None:
    assert name_chord([28, 28 + interval])[0].symbol == symbol


@pytest.mark.parametrize(("frets", "key", "symbol"), [
    ("3x331x", "F", "Gm11"), ("x20200", None, "Bm7(11)"), ("x02100", "Am", "E/A"),
    ("x33335", None, "Bbmaj7/C"), ("x312xx", None, "Cm6"), ("x32402", None, "Cmaj7#11"),
    # The same hands elsewhere on the neck.
    ("5x553x", "G", "Am11"), ("x42422", None, "C#m7(11)"), ("x 5 5 5 5 7", None, "Cmaj7/D"),
    ("x534xx", None, "Dm6"), ("x54624", None, "Dmaj7#11"),
    # Inversions keep their slash where the bass counts.
    ("332010", None, "C/G"), ("x2003x", None, "G/B"), ("2x0232", None, "D/F#"),
    ("x32033", "G", "Cadd9"),
])  # fmt: skip
def test_register_counts(frets: str, key: str | None, symbol: str) -> None:
    assert first(frets, key=key) == read_symbol(symbol).symbol


@pytest.mark.parametrize(("frets", "offered"), [("x30232", "D/C"), ("xx0200", "D6/9")])
def test_names_that_are_offered(frets: str, offered: str) -> None:
    names = {name.symbol for name in name_chord(sounding(frets, GUITAR))}
    assert read_symbol(offered).symbol in names


def test_the_sharp_eleventh_is_called_one() -> None:
    best = name_chord(sounding("x32402", GUITAR))[0]
    assert best.degree_of(name_to_midi("F#4")) == "#11"


@pytest.mark.parametrize("key", [None, "E", "A"])
def test_no_name_claims_a_note_that_is_not_there_without_saying_so(key: str | None) -> None:
    best = name_chord(sounding("x21200", GUITAR), key=key)[0]
    assert best.symbol == "B7add11"
    assert "leaves out 5" in best.why


@pytest.mark.parametrize(("frets", "key", "before", "symbol"), [
    ("x 10 9 9 x x", "Am", "Am7", "G6"), ("x 10 9 9 x x", None, None, "Em/G"),
    ("x 10 9 9 x x", "G", None, "G6"), ("x 10 9 9 x x", "Em", None, "Em/G"),
    ("x322xx", "C", "Bm7b5", "C6"), ("x322xx", None, None, "Am/C"), ("x544xx", "D", None, "D6"),
])  # fmt: skip
def test_three_notes_are_a_sixth_chord_where_key_or_neighbours_want_its_bass(
    frets: str, key: str | None, before: str | None, symbol: str
) -> None:
    names = name_chord(sounding(frets, GUITAR), key=key, before=before)
    assert names[0].symbol == symbol
    assert len({"6", "m"} & {name.suffix for name in names[:3]}) == 2


@pytest.mark.parametrize("notes", [
    (48, 52, 55), [48, 52, 55], range(48, 61, 4), np.array([48, 52, 55]), array("b", (48, 52, 55)),
    np.array([48, 52, 55], dtype=np.uint8), [np.int64(48), 52, 55],
])  # fmt: skip
def test_any_sequence_of_whole_numbers_is_taken_and_python_ints_come_back(notes: object) -> None:
    best = name_chord(notes)[0]  # type: ignore[arg-type]
    assert type(best.root) is int
    assert type(best.bass) is int
    assert all(type(interval) is int for interval in best.intervals)
    assert all(
        type(interval) is int
        for name in name_chord(notes)
        for interval in name.adds  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("notes", [
    ["C4", "E4", "G4"], "C4 E4", "C", [60.0, 64.0], [60, None], [60, 128], [-1, 60], [60, "E"],
    [Fraction(60)], np.array([60.0, 64.0]), [60, [64]], [60, 1000],
])  # fmt: skip
def test_what_cannot_be_taken_is_said_in_a_sentence(notes: object) -> None:
    with pytest.raises(LogbookError) as caught:
        name_chord(notes)  # type: ignore[arg-type]
    assert "is not a MIDI note number" in str(caught.value)
    assert "0 to 127" in caught.value.remedy
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("notes", [None, 60, 3.5])
def test_what_is_no_list_is_said_too(notes: object) -> None:
    with pytest.raises(LogbookError, match="is not a list of notes"):
        name_chord(notes)  # type: ignore[arg-type]


def test_nothing_to_name_is_said_for_numpy_too() -> None:
    with pytest.raises(LogbookError, match="no notes to name"):
        name_chord(np.array([], dtype=int))  # type: ignore[arg-type]
