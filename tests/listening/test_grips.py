"""Grips made from note odds: what a hand can hold, and that the best ones are among them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.listening import grips as g
from logbook.listening.heard import sounding
from logbook.strings import fingering

STANDARD = (40, 45, 50, 55, 59, 64)
SEVEN = (35, *STANDARD)
UKULELE = (67, 60, 64, 69)
BASS = (28, 33, 38, 43)


def odds_of(notes, open_strings, capo=0, sure=4.0):
    pitches = g.pitches_of(open_strings, capo)
    out = np.full((1, pitches.size), -sure, dtype=np.float32)
    for note in notes:
        out[0, note - pitches[0]] = sure
    return out


def line(frets):
    return tuple(None if f < 0 else int(f) for f in frets)


@pytest.mark.parametrize(
    ("open_strings", "capo", "frets"),
    [
        (STANDARD, 0, (None, 3, 2, 0, 1, 0)),
        (STANDARD, 0, (3, 2, 0, 0, 0, 3)),
        (STANDARD, 0, (1, 3, 3, 2, 1, 1)),
        (STANDARD, 3, (0, 5, 5, 4, 0, 0)),
        (STANDARD, 0, (None, None, 12, 12, 13, 12)),
        (SEVEN, 0, (0, 3, 2, 0, 0, 0, 3)),
        (UKULELE, 0, (0, 0, 0, 3)),
        (BASS, 0, (None, 3, None, None)),
        (BASS, 0, (0, None, None, None)),
    ],
)
def test_the_grip_that_was_played_comes_first(open_strings, capo, frets) -> None:
    notes = sounding(frets, open_strings, capo)
    found = g.likely_grips(odds_of(notes, open_strings, capo), open_strings, capo)
    indicator = (found.masks[:, None] >> np.arange(62, dtype=np.uint64)) & np.uint64(1)
    low = min(open_strings) + capo
    best = np.argmax(
        found.usual
        + indicator[:, : g.pitches_of(open_strings, capo).size].astype(float)
        @ odds_of(notes, open_strings, capo)[0]
    )
    assert sounding(line(found.frets[best]), open_strings, capo) == notes
    assert tuple(np.flatnonzero(indicator[best]) + low) == notes


@given(
    st.lists(st.integers(-6, 6), min_size=45, max_size=45),
    st.integers(0, 4),
)
@settings(max_examples=25, deadline=None)
def test_every_grip_can_be_held_and_sounds_what_it_says(values, capo) -> None:
    pitches = g.pitches_of(STANDARD, capo)
    odds = np.resize(np.array(values, dtype=np.float32), (1, pitches.size))
    found = g.likely_grips(odds, STANDARD, capo)
    assert len(found.masks) == len(set(found.masks.tolist()))
    for frets, mask in zip(found.frets, found.masks, strict=True):
        held = [int(f) for f in frets if f > 0]
        assert all(f > capo for f in held)
        assert not held or max(held) - min(held) <= 4
        shape = tuple(-1 if f < 0 else 0 if f == 0 else int(f) - min(held) + 1 for f in frets)
        assert fingering.fingers_needed(shape) <= g.FINGERS
        notes = sounding(line(frets), STANDARD, capo)
        assert mask == sum(1 << (note - int(pitches[0])) for note in notes)


@given(st.lists(st.integers(-1, 5), min_size=6, max_size=6))
def test_fingers_are_counted_as_the_room_of_strings_counts_them(frets) -> None:
    held = [f for f in frets if f > 0]
    shape = tuple(f if f <= 0 else f - min(held) + 1 for f in frets)
    told = g.fingers_needed(np.array([frets], dtype=np.int8))[0]
    assert told == len(fingering.units_of(shape))


def test_plain_chords_are_the_most_usual_kinds() -> None:
    table = g.kind_table()
    major, minor, seventh = (sum(1 << s for s in k) for k in ((0, 4, 7), (0, 3, 7), (0, 4, 7, 10)))
    assert table[major] == table[minor] == 0
    assert 0 < table[seventh] <= 1
    assert table[0b111] == len(g.RARITIES)  # three semitones side by side
