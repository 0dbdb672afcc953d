"""A bounce at another speed than its takes: found all the same, and said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.cli.listen_comp import _speed_said
from logbook.listening import Piece, recover_comp
from logbook.listening.speeds import at_speed
from tests.listening import edits
from tests.listening import material as m

SECONDS = 8


def test_a_sine_comes_back_at_its_own_speed() -> None:
    at = np.arange(3 * edits.RATE) / edits.RATE
    for slower in (1.00003, 0.98):
        fast = at_speed(np.sin(2 * np.pi * 3000 * at).astype(np.float32), slower)
        right = np.sin(2 * np.pi * 3000 * slower * np.arange(fast.size) / edits.RATE)
        assert np.max(np.abs(fast - right)[50:-50]) < 1e-3


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    return edits.takes_of("pick", 67, seconds=SECONDS)


@pytest.mark.parametrize("slower", [1.0002, 0.99])
def test_the_comp_and_the_speed(takes: list[m.Audio], tmp_path: Path, slower: float) -> None:
    plan = edits.at_home(4, shortest=1.8, longest=3.0, seconds=SECONDS - 0.5)
    bounce = m.blend(takes, plan, edits.RATE, fade=0.010)
    warped = np.stack([at_speed(c.astype(np.float32), 1 / slower) for c in bounce.T], axis=1)
    paths = [m.save(take, tmp_path / f"t{n}.wav", edits.RATE) for n, take in enumerate(takes)]
    pieces = recover_comp(m.save(0.7 * warped, tmp_path / "b.wav", edits.RATE), paths)
    assert [p.take for p in pieces] == [p.take for p in plan]
    for piece, true in zip(pieces, plan, strict=True):
        assert piece.start == pytest.approx(true.start * slower, abs=0.012)
        assert piece.stretch == pytest.approx(slower, abs=1e-5)
        there = piece.start / slower - true.start + true.source
        assert piece.source == pytest.approx(there, abs=2e-4)


@pytest.mark.parametrize(
    ("stretch", "said"),
    [
        (1.0, []),
        (1.00012, ["The bounce runs 120 ppm slower than the takes: a clock was off."]),
        (0.99, ["The bounce runs 1.00 % faster than the takes, 17 cents up: varispeed."]),
    ],
)
def test_the_speed_is_said(stretch: float, said: list[str]) -> None:
    piece = Piece(
        start=0.0, end=1.0, source=0.5, take=0, gain_db=0.0, confidence=1.0, stretch=stretch
    )
    assert _speed_said([piece]) == said
