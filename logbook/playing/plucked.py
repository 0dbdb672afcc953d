"""One plucked string: a burst of noise going round a lossy delay line (Karplus and Strong, 1983).

Sounds are one channel of float64, full scale 1.0.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Samples = NDArray[np.float64]


def pluck(
    hz: float, seconds: float, rate_hz: int, strength: float, rng: np.random.Generator
) -> Samples:
    """Return one plucked string of `hz`, so many seconds long; softly (0 to 1) is darkly."""
    length = max(int(seconds * rate_hz), 1)
    period = rate_hz / hz
    delay = max(int(period), 1)
    share = period - delay  # between the two taps, which also darken the tone
    noise = rng.uniform(-1.0, 1.0, min(delay, length))
    out = np.zeros(length)
    out[: len(noise)] = lfilter([strength], [1.0, strength - 1.0], noise)
    loss = 0.001 ** (1.0 / (hz * 2.2))
    near, far = loss * (1.0 - share), loss * share
    # A round of the line only depends on the round before, so each is worked out at once.
    for start in range(delay, length, delay):
        count = min(delay, length - start)
        before = start - delay
        out[start : start + count] = near * out[before : before + count]
        skip = 1 if before == 0 else 0
        out[start + skip : start + count] += far * out[before - 1 + skip : before - 1 + count]
    return out


def faded(sound: Samples, seconds: float, rate_hz: int) -> Samples:
    """Return a sound whose last `seconds` die away."""
    fade = min(len(sound), int(seconds * rate_hz))
    out = sound.copy()
    if fade:
        out[-fade:] *= np.linspace(1.0, 0.0, fade)
    return out
