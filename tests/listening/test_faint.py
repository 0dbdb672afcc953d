"""Pieces of which little is left in the bounce, and the stretches that only look like one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from logbook.cli.listen_comp import _done
from logbook.listening import Piece, recover_comp
from tests.listening import edits
from tests.listening import material as m

SECONDS = 8
RATE = edits.RATE
PLAN = (
    m.TruePiece(start=0.0, end=3.9, take=0, source=0.5),
    m.TruePiece(start=3.9, end=7.5, take=1, source=4.537),
)


def driven(sound: m.Audio) -> m.Audio:
    """Through an amplifier that clips nearly all of it, and its speaker."""
    level = sound / np.max(np.abs(sound))
    low = signal.butter(1, 200, "highpass", fs=RATE, output="sos")
    high = signal.butter(4, 4200, "lowpass", fs=RATE, output="sos")
    loud = np.tanh(30 * signal.sosfilt(low, level, axis=0))
    return np.asarray(0.3 * signal.sosfilt(high, loud, axis=0))


def under_drums(sound: m.Audio) -> m.Audio:
    """Drums and a bass as loud as the part on top of it."""
    for kind in ("drums", "line"):
        other = edits.takes_of(kind, 431, count=1, seconds=SECONDS)[0][: len(sound)]
        sound = sound + other * np.sqrt(np.mean(sound**2) / np.mean(other**2))
    return 0.2 * sound


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    return edits.takes_of("sung", 432, count=2, seconds=SECONDS)


@pytest.mark.parametrize("done", [driven, under_drums])
@pytest.mark.parametrize("given", [(0, 1), (1,)])
def test_a_piece_is_named_by_what_keeps_in_step(
    takes: list[m.Audio], tmp_path: Path, given: tuple[int, ...], done: Callable[[m.Audio], m.Audio]
) -> None:
    """The take that is missing leaves its stretch unknown."""
    bounce = m.save(done(m.blend(takes, PLAN, RATE)), tmp_path / "b.wav", RATE)
    paths = [m.save(takes[n], tmp_path / f"{n}.wav", RATE) for n in given]
    pieces = edits.named(recover_comp(bounce, paths), given)
    for true in edits.given_only(PLAN, given):
        inside = [p for p in pieces if p.start < true.end - 0.5 and p.end > true.start + 0.5]
        assert {p.take for p in inside} == {true.take}
        if true.take is not None:
            assert inside[0].offset == pytest.approx(true.source - true.start, abs=0.001)


def test_it_is_said() -> None:
    piece = Piece(start=0.0, end=4.0, source=0.5, take=0, gain_db=0.0, confidence=0.9, faint=True)
    assert _done(piece) == ", faint"
