"""Which notes sound in a stretch: a small fitted model that looks at one pitch at a time.

For each pitch the model sees the spectra of the stretch (see spectra) from two octaves below the
pitch to three and a half above, so that the same numbers serve every pitch; how long the stretch
is; and the pitch itself. It is a net of two hidden layers of rectified sums, about 30,000 numbers,
fitted by `tests/benchmarks/fit_hearing.py` on rendered material (see there). It returns the
logarithm of the odds that the note was played in the stretch.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from logbook.listening.spectra import CHANNELS, LOWEST

Floats = npt.NDArray[np.float32]

BELOW, ABOVE = 25, 43  # semitones seen below and above a pitch
SEEN = BELOW + ABOVE + 1
EXTRAS = 2
INPUTS = CHANNELS * SEEN + EXTRAS
WEIGHTS = "note_weights.npz"


def inputs(levels: Floats, seconds: Floats, pitches: npt.NDArray[np.int_]) -> Floats:
    """Rows of the model, spans x pitches x INPUTS."""
    padded = np.pad(levels, ((0, 0), (0, 0), (BELOW + 24, ABOVE + 24)))
    view = np.lib.stride_tricks.sliding_window_view(padded, SEEN, axis=2)
    seen = view[:, :, pitches - LOWEST + 24]  # spans x channels x pitches x SEEN
    out = np.empty((len(levels), pitches.size, INPUTS), dtype=np.float32)
    out[:, :, : CHANNELS * SEEN] = seen.transpose(0, 2, 1, 3).reshape(
        len(levels), pitches.size, CHANNELS * SEEN
    )
    out[:, :, -2] = (pitches - 60) / 24.0
    out[:, :, -1] = np.log2(np.clip(seconds, 0.1, 8.0))[:, None] / 2.0
    return out


@lru_cache(maxsize=1)
def weights() -> tuple[tuple[Floats, Floats], ...]:
    """Matrix and offset of every layer."""
    with (
        files("logbook.listening").joinpath(WEIGHTS).open("rb") as file,
        np.load(file) as kept,
    ):
        return tuple(
            (kept[f"w{n}"].astype(np.float32), kept[f"b{n}"].astype(np.float32))
            for n in range(len(kept.files) // 2)
        )


def note_odds(levels: Floats, seconds: Floats, pitches: npt.NDArray[np.int_]) -> Floats:
    """Logarithm of the odds of every pitch (MIDI) in every span, spans x pitches."""
    layers = weights()
    out = np.empty((len(levels), pitches.size), dtype=np.float32)
    for at in range(0, len(levels), 64):
        part = slice(at, at + 64)
        rows = inputs(levels[part], seconds[part], pitches).reshape(-1, INPUTS)
        for matrix, offset in layers[:-1]:
            rows = np.maximum(rows @ matrix + offset, 0.0)
        matrix, offset = layers[-1]
        out[part] = (rows @ matrix + offset).reshape(-1, pitches.size)
    return out
