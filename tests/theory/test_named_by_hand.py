"""Guitar voicings in standard tuning, named by hand; common practice, no source."""

from __future__ import annotations

import pytest

from logbook.theory import name_chord, name_to_midi, read_symbol

GUITAR = "E2 A2 D3 G3 B3 E4"

NAMED = [
    ("x32010", "C"), ("x32310", "C7"), ("x32000", "Cmaj7"), ("x32030", "Cadd9"), ("x32013", "C"),
    ("x3201x", "C"), ("032010", "C/E"), ("332010", "C/G"), ("x33011", "Csus4"), ("x35353", "C7"),
    ("x35343", "Cm7"), ("x35453", "Cmaj7"), ("x3534x", "Cm7"), ("x3434x", "Cm7b5"),
    ("x3424x", "Cdim7"), ("x3233x", "C9"), ("x3234x", "C7#9"), ("x3232x", "C7b9"),
    ("x3243x", "Cmaj9"), ("x3133x", "Cm9"), ("x35555", "C6"), ("x35543", "Cm"),
    ("x32355", "C13"), ("320003", "G"), ("320033", "G"), ("320001", "G7"), ("320002", "Gmaj7"),
    ("3x0003", "G"), ("320000", "G6"), ("3x343x", "G7"), ("353433", "G7"), ("3x333x", "Gm7"),
    ("353333", "Gm7"), ("355433", "G"), ("355333", "Gm"), ("3x443x", "Gmaj7"), ("3x233x", "Gm6"),
    ("3x232x", "Gdim7"), ("3x332x", "Gm7b5"), ("3x3455", "G13"), ("3x345x", "G13"),
    ("3x3433", "G7"), ("3x344x", "G7#5"), ("3x342x", "G7b5"), ("x02210", "Am"),
    ("x02010", "Am7"), ("x02020", "A7"), ("x02120", "Amaj7"), ("x02220", "A"), ("x02222", "A6"),
    ("x02200", "Asus2"), ("x02230", "Asus4"), ("x02030", "A7sus4"), ("x02233", "A7sus4"),
    ("x02023", "A7"), ("x02410", "Amadd9"), ("x0221x", "Am"), ("xx0232", "D"), ("xx0231", "Dm"),
    ("xx0212", "D7"), ("xx0211", "Dm7"), ("xx0222", "Dmaj7"), ("xx0202", "D6"),
    ("xx0201", "Dm6"), ("xx0230", "Dsus2"), ("xx0233", "Dsus4"), ("xx0213", "D7sus4"),
    ("200232", "D/F#"), ("2x0232", "D/F#"), ("xx0101", "Ddim7"), ("xx0111", "Dm7b5"),
    ("x5453x", "D7"), ("x5456x", "D7#9"), ("x5455x", "D9"), ("x57775", "D"), ("x57765", "Dm"),
    ("022100", "E"), ("022000", "Em"), ("020100", "E7"), ("022130", "E7"), ("020000", "Em7"),
    ("022030", "Em7"), ("021100", "Emaj7"), ("022120", "E6"), ("022020", "Em6"),
    ("022200", "Esus4"), ("020200", "E7sus4"), ("022102", "Eadd9"), ("024100", "Eadd9"),
    ("022002", "Emadd9"), ("024000", "Emadd9"), ("076780", "E7#9"), ("0 7 6 7 8 x", "E7#9"),
    ("133211", "F"), ("xx3211", "F"), ("1x321x", "F"), ("xx3210", "Fmaj7"), ("1x2210", "Fmaj7"),
    ("x33210", "Fmaj7/C"), ("131211", "F7"), ("131111", "Fm7"), ("133111", "Fm"),
    ("1x111x", "Fm7"), ("x13331", "Bb"), ("x13321", "Bbm"), ("x13121", "Bbm7"),
    ("x1312x", "Bbm7"), ("x24442", "B"), ("x24432", "Bm"), ("x20202", "Bm7"), ("x24232", "Bm7"),
    ("x21202", "B7"), ("x2323x", "Bm7b5"), ("x2120x", "B7"), ("x21222", "B9"),
    ("x20200", "Bm7(11)"), ("244222", "F#m"), ("244322", "F#"), ("242222", "F#m7"),
    ("2x222x", "F#m7"), ("2x2210", "F#m7b5"), ("2x2212", "F#m7b5"), ("464444", "G#m7"),
    ("x46654", "C#m"), ("x4545x", "C#m7b5"), ("0x0232", "D/E"), ("x00232", "D/A"),
    ("3x0232", "D/G"), ("x02100", "E/A"), ("x3x010", "C"), ("x20033", "G/B"), ("x20003", "G/B"),
    ("x2003x", "G/B"), ("1x3211", "F"), ("0x2210", "Am/E"), ("002210", "Am/E"),
    ("x22100", "E/B"), ("x42220", "A/C#"), ("x4222x", "A/C#"), ("x 7 6 7 8 x", "E7#9"),
    ("x 7 6 7 7 x", "E9"), ("5x555x", "Am7"), ("5x565x", "A7"), ("5x665x", "Amaj7"),
    ("5x455x", "Am6"), ("5x564x", "A7b5"), ("5x566x", "A7#5"), ("5 x 5 6 7 x", "A13"),
    ("x57575", "D7"), ("x5656x", "Dm7b5"), ("x02110", "Am(maj7)"), ("x32210", "Am/C"),
    ("3x331x", "Gm7(11)"), ("x24400", "Bsus4"), ("x03210", "Fmaj7/A"), ("x33010", "Cadd11"),
    ("xx0112", "D7b5"), ("466544", "Ab"), ("x46664", "Db"), ("x4342x", "Db7"),
]  # fmt: skip


def sounding(frets: str) -> list[int]:
    each = frets.split() if " " in frets else list(frets)
    strings = [name_to_midi(name) for name in GUITAR.split()]
    return [note + int(fret) for note, fret in zip(strings, each, strict=True) if fret != "x"]


@pytest.mark.parametrize(("frets", "symbol"), NAMED)
def test_a_voicing_is_called_what_players_call_it(frets: str, symbol: str) -> None:
    assert name_chord(sounding(frets))[0].symbol == read_symbol(symbol).symbol


@pytest.mark.parametrize(("frets", "symbol"), NAMED)
@pytest.mark.parametrize("moved", [1, 6, 11])
def test_and_so_it_is_anywhere_on_the_neck(frets: str, symbol: str, moved: int) -> None:
    wanted = read_symbol(symbol)
    assert wanted.root_pc is not None
    best = name_chord([note + moved for note in sounding(frets)])[0]
    assert (best.root, best.suffix) == ((wanted.root_pc + moved) % 12, wanted.suffix)
