from __future__ import annotations

import pytest

from logbook.strings.capo import read_capos
from logbook.strings.chord_tones import tones_of
from logbook.strings.finder import Limits, find_voicings
from logbook.strings.fingering import (
    best_grip,
    can_hold,
    fingers_needed,
    is_playable,
    propose_fingers,
)
from logbook.strings.frets import CAPO, count_frets, place_frets, read_fingers, read_frets
from logbook.strings.grips import (
    POWER,
    SHELL,
    WHOLE,
    TaughtGrip,
    common_grips,
    read_grips,
    table_of,
    taught_fingers,
)
from logbook.strings.shapes import shape_of_frets
from logbook.strings.stretch import PAIR_LIMITS_MM, STRETCH_LIMIT_MM, pair_limit_mm
from logbook.strings.tunings import find_tuning
from logbook.theory.symbols import read_symbol

NAMES = ("standard", "drop D", "DADGAD", "open G", "ukulele", "mandolin", "banjo")


def shown(chord: str, tuning: str, capo: str = "0") -> list[str]:
    found = common_grips(read_symbol(chord), find_tuning(tuning), read_capos(capo))
    return ["".join(count_frets(each, CAPO).text.split()) for each in found]


def notes(grip: TaughtGrip, tuning: str) -> list[int]:
    long = [string.midi for string in find_tuning(tuning).strings if not string.start]
    return [midi + fret for midi, fret in zip(long, grip.frets, strict=True) if fret is not None]


@pytest.mark.parametrize("name", NAMES)
def test_every_grip_sounds_its_chord_and_can_be_held(name: str) -> None:
    grips = table_of(name)
    assert len(grips) > 90
    for grip in grips:
        sounds = 0
        for note in notes(grip, name):
            sounds |= 1 << note % 12
        tones = tones_of(grip.chord)
        assert not sounds & ~tones.allowed, grip
        lacks = bool(tones.needed & ~sounds) or any(not sounds & one for one in tones.one_of)
        assert lacks == grip.bare, grip
        if grip.chord.bass is not None:
            assert min(notes(grip, name)) % 12 == grip.chord.bass_pc, grip
        assert fingers_needed(shape_of_frets(grip.frets)[0]) <= 4, grip
        assert not (grip.movable and 0 in grip.frets), grip


@pytest.mark.parametrize("name", NAMES)
def test_fingers_of_the_table_stand_in_the_order_of_the_frets(name: str) -> None:
    for grip in table_of(name):
        if not grip.fingers:
            continue
        fingers = read_fingers(grip.fingers)
        held: dict[str, set[int]] = {}
        for finger, fret in zip(fingers, grip.frets, strict=True):
            assert (finger is not None) == bool(fret), grip
            if finger is not None and fret:
                held.setdefault(finger, set()).add(fret)
        assert all(len(frets) == 1 for frets in held.values()), grip
        frets = [min(held[finger]) for finger in "1234" if finger in held]
        assert frets == sorted(frets), grip
        assert fingers.count("4") <= 2, grip


@pytest.mark.parametrize("name", NAMES)
def test_the_finder_keeps_what_the_table_holds(name: str) -> None:
    tuning = find_tuning(name)
    for chord in ("C", "G7", "Am", "D", "Em7", "Bb", "F#m", "D5"):
        known = common_grips(read_symbol(chord), tuning, last_fret=15)
        found = find_voicings(chord, tuning)
        assert [each.position for each in found[: len(known)]] == list(known)
        assert all(each.taught for each in found[: len(known)])
        assert not any(each.taught for each in found[len(known) :])


def test_open_grips_come_first_and_movable_ones_by_their_fret() -> None:
    assert shown("C", "standard")[0] == "x32010"
    assert shown("C#", "standard")[0] == "x46664"
    assert shown("F", "standard")[0] == "133211"
    assert shown("C7", "standard")[:2] == ["x32310", "x35353"]
    assert shown("G13", "standard")[0] == "3x345x"


def test_shells_and_power_chords_are_families_and_come_after_whole_chords() -> None:
    (shell,) = read_grips("G7 3x34xx 1-23-- ~9")
    (power,) = read_grips("F5 133xxx 134--- ~")
    (whole,) = read_grips("F 133211 134211 ~")
    assert (shell.family, power.family, whole.family) == (SHELL, POWER, WHOLE)
    assert shown("G7", "standard").index("3x34xx") > shown("G7", "standard").index("353433")
    assert shown("G5", "standard")[0] == "355xxx"
    assert shown("D5", "drop D")[0] == "000xxx"


def test_a_capo_and_another_pitch_keep_the_shapes() -> None:
    assert shown("Eb", "standard", "3") == shown("C", "standard")
    assert shown("B", "half step down") == shown("C", "standard")
    assert shown("C", "mandola") == shown("G", "mandolin")
    assert shown("C", "seven-string") == ["x" + frets for frets in shown("C", "standard")]
    assert shown("C", "high-strung") == shown("C", "standard")
    assert shown("G", "baritone ukulele") == shown("C", "ukulele")


def test_where_nothing_is_known() -> None:
    assert shown("C", "standard", "2 on strings 3-5") == []
    assert shown("C", "all fourths") == []
    assert shown("C", "bass") == []
    assert shown("N.C.", "standard") == []


def test_the_fifth_string_of_a_banjo_rings_where_it_belongs() -> None:
    assert shown("C", "banjo")[0] == "02012"
    assert shown("A", "banjo")[0] == "x2222"


def test_fingers_are_taught_where_the_grip_lies() -> None:
    assert taught_fingers(shape_of_frets((None, 3, 2, 0, 0, 0))[0], 2) == "-32---"
    assert taught_fingers(shape_of_frets((None, 3, 2, 0, 0, 0))[0], 4) is None
    assert taught_fingers(shape_of_frets((5, 7, 7, 6, 5, 5))[0], 5) == "134211"


def test_each_pair_of_fingers_has_its_own_span() -> None:
    assert pair_limit_mm(1, 4) == STRETCH_LIMIT_MM
    assert pair_limit_mm(3, 4, 50.0) == PAIR_LIMITS_MM[3, 4] / 2
    for pair, mm in PAIR_LIMITS_MM.items():
        assert (mm < STRETCH_LIMIT_MM) == (pair != (1, 4))
    # Four fingers, three of them three frets above the index: 1-2 and 2-3 are the question.
    tight = place_frets(read_frets("1 4 x 4 x 4"), find_tuning("standard"))
    assert is_playable(tight, 380.0)
    assert not is_playable(tight, 648.0)


def test_the_little_finger_lies_over_two_strings_at_most() -> None:
    assert fingers_needed((1, 2, 3, 4, 4, 4)) == 5
    assert fingers_needed((1, 2, 3, -1, 4, 4)) == 4
    assert best_grip((1, 2, 3, 4, 4, 4)) is None
    assert not can_hold(((1, 1), (2, 1), (3, 1), (4, 3)), (0.0, 20.0, 40.0, 60.0))
    ring = propose_fingers(place_frets(read_frets("x 5 x 8 8 8"), find_tuning("standard")))
    assert ring is not None
    assert "4" not in ring


def test_a_bass_hand_covers_four_frets() -> None:
    for name in ("bass", "five-string bass"):
        for chord in ("C", "Am7", "G7", "F#dim7"):
            for found in find_voicings(chord, find_tuning(name), limits=Limits(stretch_mm=300.0)):
                assert max(found.shape) <= 4
