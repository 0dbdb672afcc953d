"""Copies that pass for a second performance, made from one take: what a lazy double is made of."""

from __future__ import annotations

import numpy as np

from tests.listening import material as m
from tests.listening.edits import RATE


def fakes(sound: m.Audio, seed: int) -> dict[str, m.Audio]:
    """Every kind of copy, by its name."""
    return {
        "detuned 7 cents": warped(sound, 2 ** (-7 / 1200)),
        "stretched 0.5 %": warped(sound, 1.005),
        "delayed": np.concatenate([np.zeros((375, sound.shape[1])), sound]),
        "modulated": modulated(sound, depth_ms=3.0, hertz=0.8),
        "slip-edited": slipped(sound, seed),
        "drowned in reverberation": reverberated(sound, 8.0, seed),
    }


def warped(sound: m.Audio, longer: float) -> m.Audio:
    """The sound at another speed, `longer` times as long."""
    return _read(sound, np.arange(int(len(sound) * longer)) / longer)


def modulated(sound: m.Audio, *, depth_ms: float, hertz: float) -> m.Audio:
    """The sound through a delay that comes and goes."""
    places = np.arange(len(sound))
    late = (15.0 + depth_ms * np.sin(2 * np.pi * hertz * places / RATE)) * RATE / 1000
    return _read(sound, places - late)


def _read(sound: m.Audio, places: np.ndarray) -> m.Audio:
    at = np.arange(len(sound))
    return np.stack([np.interp(places, at, c, left=0.0, right=0.0) for c in sound.T], axis=1)


def slipped(sound: m.Audio, seed: int) -> m.Audio:
    """Cut every second or so, each piece moved by up to 12 ms."""
    rng = np.random.default_rng(seed)
    out, at = sound.copy(), 0
    while at < len(sound):
        length = round(rng.uniform(0.5, 2.0) * RATE)
        source = max(0, at + round(rng.uniform(-0.012, 0.012) * RATE))
        piece = sound[source : source + length]
        out[at : at + len(piece)] = piece[: len(out) - at]
        at += length
    return out


def reverberated(sound: m.Audio, wet_db: float, seed: int, seconds: float = 1.5) -> m.Audio:
    """The sound and its reverberation, decaying by 60 dB in so many seconds, `wet_db` louder."""
    rng = np.random.default_rng(seed)
    count = round(seconds * RATE)
    response = rng.normal(size=count) * 10 ** (-3 * np.arange(count) / count)
    size = len(sound) + count
    wet = np.fft.irfft(
        np.fft.rfft(sound, size, axis=0) * np.fft.rfft(response, size)[:, None], size, axis=0
    )
    wet = wet[: len(sound)]
    return sound + wet * np.sqrt(np.mean(sound**2) / (np.mean(wet**2) + 1e-20)) * 10 ** (
        wet_db / 20
    )
