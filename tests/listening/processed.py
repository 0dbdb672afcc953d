"""What is done to a finished comp until its takes can no longer be subtracted from it.

Every effect takes a sound and a seed, from which its own settings follow, so that nothing is told
by one setting alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy import signal

from logbook.listening import Piece
from tests.listening import edits
from tests.listening import material as m
from tests.listening.copying import modulated, reverberated
from tests.listening.judging import lag

RATE = edits.RATE
BAR = 2.0  # seconds
NEAR_S = 0.010  # what a piece known by its notes may be off
Effect = Callable[[m.Audio, int], m.Audio]


def driven(sound: m.Audio, seed: int) -> m.Audio:
    """An amplifier with high gain, 24 to 40 dB into clipping, and its speaker."""
    rng = np.random.default_rng(seed)
    level = sound / np.max(np.abs(sound))
    tight = signal.butter(1, rng.uniform(60, 500), "highpass", fs=RATE, output="sos")
    speaker = signal.butter(4, rng.uniform(3500, 5500), "lowpass", fs=RATE, output="sos")
    into = 10 ** (rng.uniform(24, 40) / 20) * signal.sosfilt(tight, level, axis=0)
    bias = rng.choice([0.0, 0.3])
    loud = np.tanh(into + bias) if rng.random() < 0.5 else np.clip(into + bias, -1, 1)
    out = signal.sosfilt(speaker, loud - np.mean(loud, axis=0), axis=0)
    return np.asarray(0.3 * out)


def chorused(sound: m.Audio, seed: int) -> m.Audio:
    """A chorus, as much of it as of the sound."""
    rng = np.random.default_rng(seed)
    wet = modulated(sound, depth_ms=rng.uniform(1.5, 4), hertz=rng.uniform(0.4, 1.2))
    return 0.5 * (sound + wet)


def in_a_hall(sound: m.Audio, seed: int) -> m.Audio:
    """Reverberation of 1 to 2.5 s, as loud as the sound or up to 8 dB louder."""
    rng = np.random.default_rng(seed)
    return 0.5 * reverberated(sound, rng.uniform(0, 8), seed, seconds=rng.uniform(1.0, 2.5))


def under_others(sound: m.Audio, seed: int) -> m.Audio:
    """Drums and a bass, 6 dB louder than the part."""
    out = np.zeros_like(sound)
    for kind in ("drums", "line"):
        other = edits.takes_of(kind, seed + 7000, count=1, seconds=len(sound) // RATE + 1)[0]
        other = other[: len(sound)]
        out += np.pad(other, ((0, len(sound) - len(other)), (0, 0))) / np.sqrt(np.mean(other**2))
    loud = 10 ** (6 / 20) * np.sqrt(np.mean(sound**2) / np.mean(out**2))
    return 0.5 * (sound + loud * out)


def bars_of(pieces: Sequence[Piece], plan: Sequence[m.TruePiece]) -> tuple[float, float]:
    """Shares of the bars that are right by take, and that are false.

    A bar counts as what most of it is; where the comp itself changes within its middle half it is
    not counted. Right is the right take, where it was played to 10 ms, or unknown where none is.
    """
    right = false = count = 0
    for at in np.arange(0.0, plan[-1].end - 0.75 * BAR, BAR):
        middle = np.arange(at + 0.25 * BAR, at + 0.75 * BAR, 0.05)
        truth = {next(p for p in reversed(plan) if p.start <= t) for t in middle}
        if len(truth) > 1:
            continue
        (true,) = truth
        said = [next(p for p in reversed(pieces) if p.start <= t) for t in middle]
        same = sum(
            p.take == true.take and (p.take is None or abs(lag(p) - lag(true)) < NEAR_S)
            for p in said
        )
        wrong = sum(p.take is not None for p in said) - (same if true.take is not None else 0)
        count += 1
        right += same > 0.5 * len(said)
        false += wrong > 0.5 * len(said)
    return right / max(1, count), false / max(1, count)
