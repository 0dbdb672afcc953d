"""Responses read by phases alone, so that no note and no band counts more than another."""

from __future__ import annotations

import numpy as np
from scipy import fft

from logbook.listening.signals import Samples, Spectrum, fast_size

SHARP_SAMPLES = 20  # around a place where a response is compared, that belong to it
QUIET = 0.01  # of the mean, for a frequency to be nothing


def phases(spectra: Spectrum) -> Spectrum:
    """Spectra (complex) of which only the phases are left, where there is anything at all."""
    level = np.abs(spectra)
    level += np.float32(QUIET) * np.sqrt(np.mean(level**2, axis=-1, keepdims=True)) + 1e-9
    return np.asarray(spectra / level, dtype=np.complex64)


def stands_out(responses: Samples, shared: Samples, reach: int = 0) -> Samples:
    """How far responses bear out what is shared, at every shift up to `reach`, deviations.

    The deviations are those of all shifts farther off. Shifts from -reach to reach, in columns.
    """
    length = responses.shape[1]
    size = fast_size(2 * length)
    found = fft.irfft(fft.rfft(responses, size) * np.conj(fft.rfft(shared, size)), size)
    far = slice(SHARP_SAMPLES + reach, length // 2 + reach)
    off = np.concatenate([found[:, far], found[:, ::-1][:, far]], axis=1)
    near = found[:, np.arange(-reach, reach + 1) % size]
    return np.asarray(near / (np.std(off, axis=1, keepdims=True) + 1e-12), dtype=np.float32)
