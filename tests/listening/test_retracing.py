"""What takes leave over where a first path ran across sound that none of them is."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from logbook.listening.blending import fade_between
from logbook.listening.candidates import Work
from logbook.listening.decoding import DecodedSound
from logbook.listening.edges import EXACT_LEFT
from logbook.listening.fitting import SoundMatch, unchanged
from logbook.listening.preparing import prepare
from logbook.listening.retracing import trace_again
from logbook.listening.signals import Samples
from logbook.listening.tracing import UNKNOWN

RATE, SECONDS = 11_025, 8
HERTZ = [k * root for root in (130.8, 164.8, 196.0, 246.9) for k in (1, 2, 3, 5)]


def chord(seed: int) -> Samples:
    """A held chord, every performance of it with phases and beatings of its own."""
    rng = np.random.default_rng(seed)
    time = np.arange(SECONDS * RATE) / RATE
    out = 1e-4 * rng.normal(size=time.size)
    for hertz in HERTZ:
        bent = hertz * (1 + rng.normal(0, 1e-3))
        out += 0.02 * np.sin(2 * np.pi * bent * time + rng.uniform(0, 6)) * (130.8 / hertz) ** 0.8
    return out.astype(np.float32)


def ready(bounce: Samples, takes: list[Samples], pool: ThreadPoolExecutor) -> Work:
    rounded: Samples = (np.round(bounce * 2**15) / 2**15).astype(np.float32)
    sounds = [
        DecodedSound(samples=each, rate=RATE, channels=1, path=Path(f"{n}.wav"))
        for n, each in enumerate([rounded, *takes])
    ]
    return prepare(sounds, pool)


def alternating(one: Samples, other: Samples, seconds: float) -> Samples:
    which = (np.arange(one.size) / RATE // seconds).astype(int) % 2
    return np.where(which == 0, one, other)


def test_a_path_across_another_performance_does_not_say_that_something_was_done() -> None:
    """Pieces are shorter than what a response is fitted by: every stretch of it holds both."""
    take, missing = chord(1), chord(2)
    bounce = alternating(0.8 * take, missing, 0.3)
    with ThreadPoolExecutor(1) as pool:
        work = ready(bounce, [take], pool)
        across = [SoundMatch(0, bounce.size, 0, 0, 0)]
        traced = trace_again(work, across, pool)
    assert traced.typical <= EXACT_LEFT
    unknown = [m for m in traced.matches if m.take == UNKNOWN]
    left = sum(m.last - m.first for m in unknown) + sum(
        b - a for a, b in traced.doubtful if all(b <= m.first or a >= m.last for m in unknown)
    )
    assert left / bounce.size == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("missing", [False, True])
def test_no_fade_over_what_neither_of_two_takes_is(missing: bool) -> None:
    one, other, third = chord(1), chord(2), chord(3)
    middle = SECONDS * RATE // 2
    half = round(0.6 * RATE)
    falls = np.clip((middle + half - np.arange(one.size)) / (2 * half), 0, 1)
    bounce = falls * one + (1 - falls) * other
    if missing:
        there = slice(middle - half, middle + half)
        bounce[there] = 0.5 * bounce[there] + 0.5 * third[there]
    with ThreadPoolExecutor(1) as pool:
        work = ready(bounce.astype(np.float32), [one, other], pool)
    before = SoundMatch(0, middle - half, 0, 0, 0)
    after = SoundMatch(middle + half, one.size, 1, 0, 1)
    fade = fade_between(work, before, after, unchanged(work.bounce, RATE))
    if missing:
        assert fade is None
    else:
        assert fade is not None
        assert fade.length / RATE == pytest.approx(1.2, rel=0.15)
