"""Which notes sound in a stretch: a small fitted model that looks at one pitch at a time.

The model is a net of three layers of rectified sums that does the same at every pitch. The first
layer sees the spectra of the stretch (see spectra) at the pitch and where its partials and those of
lower notes lie (partial n is 12 log2 n semitones up). The second sees what the first made of the
pitch and of those that share partials with it, so that one note can explain another away. The
third gives the logarithm of the odds that the note was played in the stretch. Its numbers, about
40,000, were fitted by `tests/benchmarks/fit_hearing.py` on rendered material (see there).
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from logbook.listening.spectra import CHANNELS, LOWEST, SEMITONES

Floats = npt.NDArray[np.float32]

# Semitones from the pitch at which the first layer looks, and the second.
SEEN = np.concatenate(
    [
        [-24, -19, -12, -7, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 11, 12, 13, 18, 19, 20],
        [23, 24, 25, *range(27, 44)],
    ]
)
SHARED = np.concatenate(
    [
        [-36, -31, -28, -24, -19, -16, -12, -9, -7, -5, -4, -3, -2, -1],
        [0, 1, 2, 3, 4, 5, 7, 9, 12, 16, 19, 24, 28, 31, 36],
    ]
)
MARGIN = 44
UNHEARD = -9.0
EXTRAS = 2  # the pitch itself, and how long the stretch is
WEIGHTS = "note_weights.npz"


def first_inputs(levels: Floats, seconds: Floats) -> Floats:
    """Rows of the first layer, spans x SEMITONES x (CHANNELS * len(SEEN) + EXTRAS)."""
    padded = np.pad(levels, ((0, 0), (0, 0), (MARGIN, MARGIN))).transpose(0, 2, 1)
    at = np.arange(SEMITONES)[:, None] + MARGIN + SEEN
    out = np.empty((len(levels), SEMITONES, CHANNELS * SEEN.size + EXTRAS), dtype=np.float32)
    out[:, :, :-EXTRAS] = padded[:, at].reshape(len(levels), SEMITONES, -1)
    out[:, :, -2] = (np.arange(SEMITONES) + LOWEST - 60) / 24.0
    out[:, :, -1] = np.log2(np.clip(seconds, 0.1, 8.0))[:, None] / 2.0
    return out


def second_inputs(hidden: Floats) -> Floats:
    """Rows of the second layer, spans x SEMITONES x (hidden sums * len(SHARED))."""
    padded = np.pad(hidden, ((0, 0), (MARGIN, MARGIN), (0, 0)))
    at = np.arange(SEMITONES)[:, None] + MARGIN + SHARED
    return np.asarray(padded[:, at].reshape(len(hidden), SEMITONES, -1), dtype=np.float32)


@lru_cache(maxsize=1)
def weights() -> tuple[Floats, ...]:
    """Matrix and offset of every layer in turn."""
    with (
        files("logbook.listening").joinpath(WEIGHTS).open("rb") as file,
        np.load(file) as kept,
    ):
        return tuple(kept[f"p{n}"].astype(np.float32) for n in range(len(kept.files)))


def note_odds(levels: Floats, seconds: Floats, pitches: npt.NDArray[np.int_]) -> Floats:
    """Logarithm of the odds of every pitch (MIDI) in every span, spans x pitches.

    Pitches outside the semitones of the spectra are never heard.
    """
    w1, b1, w2, b2, w3, b3 = weights()
    out = np.full((len(levels), pitches.size), UNHEARD, dtype=np.float32)
    told = np.flatnonzero((pitches >= LOWEST) & (pitches < LOWEST + SEMITONES))
    for at in range(0, len(levels), 32):
        part = slice(at, at + 32)
        hidden = np.maximum(first_inputs(levels[part], seconds[part]) @ w1 + b1, 0.0)
        shared = second_inputs(hidden)[:, pitches[told] - LOWEST]
        out[part, told] = (np.maximum(shared @ w2 + b2, 0.0) @ w3 + b3)[:, :, 0]
    return out
