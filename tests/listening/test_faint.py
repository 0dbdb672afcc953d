"""Pieces of which little is left in the bounce, and the stretches that only look like one."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from logbook.cli.listen_comp import _done
from logbook.listening import Piece, recover_comp
from logbook.listening.decoding import DecodedSound
from logbook.listening.faint import faintly
from logbook.listening.preparing import prepare
from logbook.listening.responding import LaggedTake, answering
from tests.listening import edits, processed
from tests.listening import material as m

SECONDS = 8
RATE = edits.RATE
PLAN = (
    m.TruePiece(start=0.0, end=3.9, take=0, source=0.5),
    m.TruePiece(start=3.9, end=7.5, take=1, source=4.537),
)


def under_drums(sound: m.Audio) -> m.Audio:
    """Drums and a bass as loud as the part on top of it."""
    for kind in ("drums", "line"):
        other = edits.takes_of(kind, 431, count=1, seconds=SECONDS)[0][: len(sound)]
        sound = sound + other * np.sqrt(np.mean(sound**2) / np.mean(other**2))
    return 0.2 * sound


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    return edits.takes_of("sung", 432, count=2, seconds=SECONDS)


@pytest.mark.parametrize("done", [processed.driven, processed.in_a_hall])
@pytest.mark.parametrize("given", [(0, 1), (1,)])
def test_a_piece_is_named_by_what_was_done_to_all(
    takes: list[m.Audio],
    tmp_path: Path,
    given: tuple[int, ...],
    done: Callable[[m.Audio, int], m.Audio],
) -> None:
    """The take that is missing leaves its stretch unknown."""
    bounce = m.save(done(m.blend(takes, PLAN, RATE), 5), tmp_path / "b.wav", RATE)
    paths = [m.save(takes[n], tmp_path / f"{n}.wav", RATE) for n in given]
    pieces = edits.named(recover_comp(bounce, paths), given)
    for true in edits.given_only(PLAN, given):
        inside = [p for p in pieces if p.start < true.end - 0.5 and p.end > true.start + 0.5]
        assert {p.take for p in inside} == {true.take}
        if true.take is not None:
            assert inside[0].offset == pytest.approx(true.source - true.start, abs=0.002)


def test_two_ways_of_asking(takes: list[m.Audio]) -> None:
    """What keeps in step at a lag is told by itself too, and neither tells a take not used."""
    sound = under_drums(m.blend(takes, PLAN, RATE))
    sounds = [
        DecodedSound(
            samples=np.asarray(each.mean(axis=1), dtype=np.float32),
            rate=RATE,
            channels=2,
            path=Path(f"{n}.wav"),
        )
        for n, each in enumerate([sound, takes[0]])
    ]
    with ThreadPoolExecutor(1) as pool:
        work = prepare(sounds, pool)
        (faint,) = faintly(work, [(0.0, 7.5)], [], [[]], pool)
        where = LaggedTake(0, round(0.5 * work.low_rate))
        (answer,) = answering(work, [(0.0, 7.5)], [where], pool)
    for one in (faint, answer):
        assert one.take == 0
        assert one.end == pytest.approx(3.9, abs=0.5)
        assert one.source - one.start == pytest.approx(0.5, abs=0.002)


def test_it_is_said() -> None:
    piece = Piece(start=0.0, end=4.0, source=0.5, take=0, gain_db=0.0, confidence=0.9, faint=True)
    assert _done(piece) == ", faint"
