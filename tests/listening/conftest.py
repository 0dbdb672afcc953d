"""Takes that several tests listen to, made once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.listening import material as m

TEMPO = 120.0
RATE = 22_050


@dataclass(frozen=True)
class Takes:
    """Takes of one part on disk, their sound, and where bar 0 begins in each, in seconds."""

    paths: list[Path]
    sounds: list[m.Audio]
    lead_in: list[float]
    tempo: float
    rate: int


@pytest.fixture(scope="session")
def plucked(tmp_path_factory: pytest.TempPathFactory) -> Takes:
    """Three takes of eight bars, each a performance of its own, from the numpy string."""
    folder = tmp_path_factory.mktemp("plucked")
    lead_in = [0.5, 0.637, 0.8]
    paths, sounds = [], []
    for number, lead in enumerate(lead_in):
        notes = m.perform(40 + number, bars=8, tempo=TEMPO, lead_in=lead)
        sound = m.pluck(notes, seconds=lead + 8 * 2.0 + 1.0, rate=RATE, seed=number)
        sounds.append(sound)
        paths.append(m.save(sound, folder / f"take {number + 1}.wav", RATE))
    return Takes(paths, sounds, lead_in, TEMPO, RATE)
