"""In a key only the readings that can come up are weighed: the answer is as if all had been."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from logbook.theory import name_chord
from logbook.theory.context import context_of
from logbook.theory.names import _heard
from logbook.theory.ranking import COUNTS, INCOMPLETE, NO_BASS, heard_in, hollow_in

KEYS = ("C", "Db", "F#m", "D mixolydian", "G#m")
NOTES = st.lists(st.integers(40, 80), min_size=2, max_size=7).map(sorted)


@given(NOTES, st.sampled_from(KEYS), st.sampled_from((None, "Ab7", "C/E", "Dm7")), st.booleans())
def test_nothing_that_comes_up_is_dropped(
    notes: list[int], key: str, before: str | None, bass_counts: bool
) -> None:
    if not bass_counts and notes[0] <= notes[1]:
        notes = [notes[-1], *notes[:-1]]  # the first string is the highest: no bass at all
    if not bass_counts and notes[0] <= notes[1]:
        return
    low, context = min(notes) % 12, context_of(key, before)
    sounding = sum(1 << note for note in set(notes))
    heard = _heard(sounding, min(notes), COUNTS if bass_counts else NO_BASS)
    hollow = hollow_in(heard)
    weighed = []
    for place, (cost, step, reading) in enumerate(heard_in(heard)):
        root = (low + step) % 12
        cost += context.cost(root, reading.kind.mask)
        cost += context.implied(low, reading) if place in hollow else 0
        weighed.append((cost, place, root, reading))
    weighed.sort(key=lambda each: each[:2])
    window = 50 if bass_counts else 50 + INCOMPLETE
    wanted = [
        (cost, root, reading)
        for cost, _, root, reading in weighed[:20]
        if cost <= weighed[0][0] + window
    ]
    found = name_chord(notes, key=key, before=before, bass_counts=bass_counts)
    named = [(each.cost, each.root, each.reading) for each in found if each.named]
    assert named[: len(wanted)] == wanted
