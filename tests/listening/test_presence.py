"""When a take that answers through a hall is there itself, and when it only goes on sounding."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from logbook.listening.presence import Answerer, present
from logbook.listening.signals import Samples

RATE = 5512
SECONDS, BEFORE = 12, 600
HELD = [(0.0, 4.0), (6.5, SECONDS)]  # by the take; the rest by one that nobody has
RNG = np.random.default_rng(5)
TAIL = np.exp(-3.0 * np.arange(round(1.5 * RATE)) / RATE) * RNG.normal(size=round(1.5 * RATE))


def noise() -> Samples:
    return RNG.normal(size=SECONDS * RATE).astype(np.float32)


def gated(sound: Samples, spans: list[tuple[float, float]]) -> Samples:
    out = np.zeros_like(sound)
    for first, last in spans:
        part = slice(round(first * RATE), round(last * RATE))
        out[part] = sound[part]
    return out


@pytest.mark.parametrize("soft", [1.0, 0.05])
def test_a_take_is_there_up_to_where_it_ends_and_not_as_long_as_it_sounds(soft: float) -> None:
    """Also where it plays a moment so softly that its own tail is louder."""
    take, missing = noise(), noise()
    take[round(9.0 * RATE) : round(9.8 * RATE)] *= soft
    dry = gated(take, HELD) + gated(missing, [(4.0, 6.5)])
    bounce = signal.fftconvolve(dry, TAIL)[: dry.size].astype(np.float32)
    response = np.pad(TAIL[:4000], (BEFORE, 0)).astype(np.float32)
    # What long windows say: it goes on after its end, and over what is between.
    ranges = [(0, bounce.size)]
    answerer = Answerer(take, 0, response, ranges)
    (found,) = present(bounce, RATE, [(0, bounce.size)], [answerer], BEFORE)
    assert [run.number for run in found] == [0, 0]
    for run, (first, last) in zip(found, HELD, strict=True):
        assert run.first / RATE == pytest.approx(first, abs=0.2)
        assert run.last / RATE == pytest.approx(last, abs=0.2)


def test_a_take_that_is_not_there_is_not_found_in_what_it_was_thought_to_be() -> None:
    take, missing = noise(), noise()
    bounce = signal.fftconvolve(missing, TAIL)[: missing.size].astype(np.float32)
    response = np.pad(TAIL[:4000], (BEFORE, 0)).astype(np.float32)
    heard = Answerer(take, 0, response, [(0, 3 * RATE)])
    assert present(bounce, RATE, [(0, bounce.size)], [heard], BEFORE) == [[]]
