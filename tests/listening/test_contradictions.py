"""Charts with planted errors, held against the sound of parts that were rendered."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest

from logbook.listening.contradictions import (
    Charted,
    chroma_of_notes,
    chroma_of_spans,
    find_contradictions,
    find_moved,
)
from logbook.listening.decoding import decode
from logbook.listening.playing import Strings
from tests.listening import rendered as r

needs_fluidsynth = pytest.mark.skipif(not r.HAVE_FLUIDSYNTH, reason="fluidsynth is not installed")


@needs_fluidsynth
@pytest.mark.parametrize(
    "wanted",
    [
        r.Wanted(seed=203, sound="steel", style="strum", capo=2, bars=12, voicings=6),
        r.Wanted(seed=204, font="TimGM6mb", sound="nylon", style="pick", bars=12, voicings=6),
    ],
    ids=["strummed", "picked"],
)
def test_planted_errors_are_found_and_right_bars_left_alone(wanted: r.Wanted) -> None:
    part = r.render(wanted)
    count = len(part.open_strings)
    strings = Strings(
        open_midi=part.open_strings, capo=part.capo, added=(0,) * count, stops=(part.capo,) * count
    )
    own = {f"v{n}": frets for n, frets in enumerate(part.own)}
    labels = {frets: label for label, frets in own.items()}
    logged = list(part.frets)
    rng = random.Random(wanted.seed)
    bad = set(rng.sample(range(len(logged)), 2))
    for bar in bad:
        true = {note % 12 for note in strings.notes(part.frets[bar])}
        logged[bar] = rng.choice(
            [f for f in part.own if not {note % 12 for note in strings.notes(f)} <= true]
        )
    charted = [
        Charted(bar=n + 1, beat=Fraction(1), start_s=a, end_s=b, label=labels[frets], frets=frets)
        for n, ((a, b), frets) in enumerate(zip(part.spans, logged, strict=True))
    ]
    sound = decode(part.path)
    found = find_contradictions(sound, charted, own, strings)
    assert {each.charted.bar - 1 for each in found} == bad
    for each in found:
        assert each.heard == labels[part.frets[each.charted.bar - 1]]
        assert 0.5 < each.confidence <= 1.0
    # The whole: nothing is moved; with the capo logged a fret too low it is a semitone up.
    heard = chroma_of_spans(sound, [(each.start_s, each.end_s) for each in charted])
    chart = np.stack([chroma_of_notes(strings.notes(each.frets)) for each in charted])
    assert find_moved(heard, chart) is None
    moved = find_moved(heard, np.roll(chart, -1, axis=1))
    assert moved is not None
    assert moved.semitones == 1
    assert moved.confidence > 0.8


def test_too_few_stretches_say_nothing_of_the_whole() -> None:
    assert find_moved(np.zeros((8, 12)), np.ones((8, 12))) is None
    one = chroma_of_notes((45, 52, 57, 61))[None, :]
    assert find_moved(one, np.roll(one, 3, axis=1)) is None
