"""Passes of a loop and punch-ins inside one file, against what was put there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from logbook.listening.breaking import find_breaks
from logbook.listening.passes import find_passes
from logbook.listening.punched import find_punches
from logbook.listening.signals import Samples
from tests.listening import material as m

RATE = 11_025


def looped(
    bars: int, count: int, *, tempo: float, lead: float, part: float
) -> tuple[Samples, float]:
    """Passes of a loop, each played anew, and its length; `part` seconds of one more."""
    length = 240.0 / tempo * bars
    whole = np.zeros(int((lead + count * length + part) * RATE))
    for number in range(count + (part > 0)):
        notes = m.perform(
            90 + number, bars=bars, tempo=tempo, lead_in=lead + number * length, style="pick"
        )
        notes = [note for note in notes if note.start < whole.size / RATE - 0.01]
        sound = m.pluck(notes, seconds=whole.size / RATE, rate=RATE, seed=number)[:, 0]
        whole += sound[: whole.size]
    return whole.astype(np.float32), length


@pytest.mark.parametrize(("lead", "part"), [(0.0, 0.0), (0.9, 3.0)])
def test_passes_of_a_loop(lead: float, part: float) -> None:
    sound, length = looped(4, 3, tempo=140.0, lead=lead, part=part)
    found = find_passes(sound, RATE)
    assert found is not None
    assert found.length_s == pytest.approx(length, abs=0.01)
    assert [each.broken_off for each in found.passes] == [False] * 3 + [True] * (part > 0)
    for number, each in enumerate(found.passes):
        assert each.start_s == pytest.approx(lead + number * length, abs=0.05)
        assert each.sure > 0.7


def test_a_count_in_that_was_kept_and_a_pass_in_which_nobody_played() -> None:
    """A click bleeds in all along; the loop begins after it, and the third pass is empty."""
    bar = 240.0 / 140.0
    sound, length = looped(2, 5, tempo=140.0, lead=bar, part=0.0)
    begin, end = (round((bar + n * length) * RATE) for n in (2, 3))
    sound[begin - 300 : end - 300] = 0.0
    tick = 0.006 * np.sin(np.arange(300) * 0.9) * np.exp(-np.arange(300) / 60)
    for beat in range(int(sound.size / RATE / bar * 4)):
        at = round(beat * bar / 4 * RATE)
        sound[at : at + 300] += tick[: sound[at : at + 300].size].astype(np.float32)
    found = find_passes(sound, RATE)
    assert found is not None
    assert found.length_s == pytest.approx(length, abs=0.01)
    assert [each.silent for each in found.passes] == [False, False, True, False, False]
    for number, each in enumerate(found.passes):
        assert each.start_s == pytest.approx(bar + number * length, abs=0.05)


@pytest.mark.parametrize("slower", [0.25, -0.2])
def test_a_loop_that_slows_down_or_speeds_up_in_each_pass(slower: float) -> None:
    straight = 240.0 / 140.0 * 4
    length = straight * (1.0 + slower)
    notes = []
    for number in range(3):
        for note in m.perform(70 + number, bars=4, tempo=140.0, style="strum"):
            start = note.start * (1.0 + slower * note.start / straight)
            notes.append(replace(note, start=number * length + start))
    notes.sort(key=lambda note: note.start)
    sound = m.pluck(notes, seconds=3 * length, rate=RATE)[:, 0].astype(np.float32)
    found = find_passes(sound, RATE)
    assert found is not None
    assert found.length_s == pytest.approx(length, abs=0.01)
    assert [each.start_s for each in found.passes] == pytest.approx(
        [0.0, length, 2 * length], abs=0.05
    )


def test_what_never_comes_again_has_no_passes() -> None:
    noise = np.random.default_rng(3).normal(size=12 * RATE).astype(np.float32)
    assert find_passes(noise, RATE) is None
    assert find_passes(np.zeros(12 * RATE, dtype=np.float32), RATE) is None


def strummed(seed: int, room_db: float) -> np.ndarray:
    """A strummed part in a room whose noise has that level, decibels of full scale."""
    notes = m.perform(seed, bars=8, lead_in=0.5)
    sound = m.pluck(notes, seconds=17.0, rate=22_050, seed=seed)[:, 0]
    noise = np.random.default_rng(seed).normal(size=sound.size)
    return np.asarray(sound + noise * 10 ** (room_db / 20))


def held(seed: int) -> np.ndarray:
    """Chords of five partials a note held for two seconds, with phases of their own."""
    rng = np.random.default_rng(seed)
    at = np.arange(12 * RATE) / RATE
    out = np.zeros(at.size)
    for bar in range(6):
        swell = np.clip(np.minimum(at - 2 * bar, 2 * bar + 2.2 - at) / 0.25, 0, 1)
        for pitch in m.SHAPES[m.PROGRESSION[bar]][:4]:
            for k in range(1, 6):
                hertz = k * 440 * 2 ** ((pitch - 69) / 12) * (1 + rng.normal(0, 3e-4))
                out += swell * np.sin(2 * np.pi * (hertz * at + rng.uniform())) / k**1.3
    return 0.03 * out + rng.normal(size=at.size) * 1e-4


def test_a_punch_in_of_the_same_day_is_heard_where_nothing_rings_on() -> None:
    first, second = held(1), held(2)
    assert find_breaks(first.astype(np.float32), RATE) == []
    at = np.arange(first.size) / RATE
    inside = np.clip(np.minimum(at - 3.2, 7.1 - at) / 0.01 + 0.5, 0, 1)
    (punch,) = find_punches((first * (1 - inside) + second * inside).astype(np.float32), RATE)
    assert punch.end is not None
    assert punch.start.at_s == pytest.approx(3.2, abs=0.03)
    assert punch.end.at_s == pytest.approx(7.1, abs=0.03)
    assert punch.start.leaps
    assert not punch.start.jump_db
    assert 0.3 < punch.sure < 0.95


def test_a_punch_in_of_another_day_and_none_in_a_clean_take() -> None:
    clean, other = strummed(5, -66.0), strummed(6, -57.0)
    assert find_punches(clean.astype(np.float32), 22_050) == ()
    at = np.arange(clean.size) / 22_050
    inside = np.clip(np.minimum(at - 6.5, 10.5 - at) / 0.006 + 0.5, 0, 1)
    (punch,) = find_punches((clean * (1 - inside) + other * inside).astype(np.float32), 22_050)
    assert punch.end is not None
    assert punch.start.at_s == pytest.approx(6.5, abs=0.25)
    assert punch.end.at_s == pytest.approx(10.5, abs=0.25)
    assert punch.start.from_s <= 6.55
    assert punch.start.jump_db == pytest.approx(9.0, abs=1.5)
    assert punch.sure > 0.9
