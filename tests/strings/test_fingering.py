from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.strings.capo import read_capos
from logbook.strings.fingering import (
    Shape,
    barres_of,
    best_grip,
    fingers_needed,
    is_playable,
    propose_fingers,
    shape_of,
)
from logbook.strings.frets import Position, place_frets, read_fingers, read_frets, write_fingers
from logbook.strings.stretch import fingered_frets, stretch_mm
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")


def at(frets: str) -> Position:
    return place_frets(read_frets(frets), STANDARD)


@pytest.mark.parametrize(
    ("frets", "fingers"),
    [
        ("x32010", "- 3 2 - 1 -"),
        ("x02210", "- - 2 3 1 -"),
        ("022100", "- 2 3 1 - -"),
        ("xx0232", "- - - 1 3 2"),
        ("x02220", "- - 1 2 3 -"),
        ("320003", "2 1 - - - 3"),
        ("133211", "1 3 4 2 1 1"),
        ("x24432", "- 1 3 4 2 1"),
        ("xx3211", "- - 3 2 1 1"),
        ("x21202", "- 2 1 3 - 4"),
        ("x355xx", "- 1 3 4 - -"),
        ("000000", "- - - - - -"),
    ],
)
def test_common_grips(frets: str, fingers: str) -> None:
    proposed = propose_fingers(at(frets))
    assert proposed is not None
    assert write_fingers(proposed) == fingers


def test_the_thumb_helps_where_four_fingers_cannot() -> None:
    shape = shape_of(at("103213"))
    assert best_grip(shape) is None
    assert write_fingers(propose_fingers(at("103213")) or ()) == "T - 3 2 1 4"


def test_nothing_can_hold_five_separate_places() -> None:
    assert propose_fingers(at("501234")) is None
    assert fingers_needed(shape_of(at("501234"))) == 5


def test_barres_of_a_given_fingering() -> None:
    position = at("133211")
    (barre,) = barres_of(read_fingers("134211"), position)
    assert (barre.finger, barre.fret, barre.low, barre.high) == ("1", 1, 6, 1)
    assert barres_of(read_fingers("-32-1-"), at("x32010")) == ()


def test_a_capo_leaves_the_shape_as_it_is() -> None:
    position = place_frets(read_frets("x02210", counted="capo"), STANDARD, read_capos("3"))
    assert shape_of(position) == shape_of(at("x02210"))


def test_reach_decides() -> None:
    position = at("1xx005")
    reach = stretch_mm(fingered_frets(position), 648.0)
    assert reach == pytest.approx(126.2, abs=0.1)
    assert not is_playable(position, 648.0)
    assert is_playable(position, 648.0, limit_mm=reach)
    assert is_playable(position, 350.0)


SHAPES = st.lists(st.integers(-1, 4), min_size=4, max_size=7).map(tuple)


@given(SHAPES, st.integers(1, 4))
def test_the_count_of_fingers_agrees_with_the_grips(shape: Shape, fingers: int) -> None:
    grip = best_grip(shape, fingers=fingers)
    assert (grip is not None) == (fingers_needed(shape) <= fingers)


@given(SHAPES)
def test_a_grip_holds_every_fretted_string_once_and_keeps_the_order_of_the_fingers(
    shape: Shape,
) -> None:
    grip = best_grip(shape)
    if grip is None:
        return
    held = [string for _, unit in grip.fingers for string in unit.strings]
    assert sorted(held) == [index for index, fret in enumerate(shape) if fret > 0]
    for (finger, unit), (after, other) in itertools.pairwise(grip.fingers):
        assert int(finger) < int(after)
        assert (unit.fret, unit.strings[0]) < (other.fret, other.strings[0])
    for _, unit in grip.fingers:
        assert all(shape[string] == unit.fret for string in unit.strings)
        under = shape[unit.strings[0] : unit.strings[-1] + 1]
        assert all(fret == -1 or fret >= unit.fret for fret in under)
