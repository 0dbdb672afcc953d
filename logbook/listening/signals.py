"""Small signal helpers shared by this room: lower rates, whitening, frames, shifted copies.

Signals are one-dimensional float32 arrays. "Lag" is take time minus bounce time in samples:
bounce[n] is compared with take[n + lag].
"""

from __future__ import annotations

from math import gcd

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view
from scipy import fft, ndimage

Samples = npt.NDArray[np.float32]
Spectrum = npt.NDArray[np.complex64]

WHITENING_TAPS = 511
AT_ONCE = 32
SHORT_TRANSFORM, SAMPLES_AT_ONCE = 1 << 13, 1 << 17


def resampled(samples: Samples, rate: int, to: int) -> Samples:
    """Band-limited change of sample rate by a rational factor, no delay."""
    if rate == to:
        return samples
    # The rest of the room does without scipy.signal, which is slow to load and large.
    from scipy import signal

    common = gcd(rate, to)
    up, down = to // common, rate // common
    return np.asarray(signal.resample_poly(samples, up, down), dtype=np.float32)


def lowered(samples: Samples, factor: int) -> Samples:
    """Every `factor`-th sample after a linear-phase low pass, no delay.

    The low pass is short: only the lower half of what is left is free of aliases.
    """
    if factor == 1:
        return samples
    taps = low_pass(8 * factor + 1, 1.0 / factor)
    # The filter as a matrix: so many outputs of so many inputs at a time, which is quicker than
    # transforms where the taps are few.
    reach = (AT_ONCE - 1) * factor + taps.size
    matrix = np.zeros((reach, AT_ONCE), dtype=np.float32)
    for n in range(AT_ONCE):
        matrix[n * factor : n * factor + taps.size, n] = taps
    out = np.empty(-(-samples.size // factor), dtype=np.float32)
    half, rows = taps.size // 2, 1024
    for first in range(0, out.size, rows * AT_ONCE):
        wanted = min(rows * AT_ONCE, out.size - first)
        count = -(-wanted // AT_ONCE)
        part = cut(samples, first * factor - half, (count - 1) * AT_ONCE * factor + reach)
        view = sliding_window_view(part, reach)[:: AT_ONCE * factor]
        out[first : first + wanted] = (view @ matrix).reshape(-1)[:wanted]
    return out


def smoothed_power(samples: Samples, size: int = 2048, octaves: float = 0.5) -> Samples:
    """Long-term power spectrum from up to 200 windows, smoothed over a part of an octave."""
    if samples.size < size:
        samples = np.pad(samples, (0, size - samples.size))
    view = sliding_window_view(samples, size)
    view = view[:: max(size // 2, (samples.size - size) // 200 + 1)]
    spectra = fft.rfft(view * np.hanning(size).astype(np.float32), axis=1)
    power = np.mean(spectra.real**2 + spectra.imag**2, axis=0)
    total = np.concatenate([[0.0], np.cumsum(power, dtype=np.float64)])
    bins = np.arange(power.size)
    low = np.floor(bins * 2 ** (-octaves / 2)).astype(int)
    high = np.minimum(power.size, np.ceil(bins * 2 ** (octaves / 2)).astype(int) + 2)
    return np.asarray((total[high] - total[low]) / (high - low), dtype=np.float32)


def whitened(samples: Samples, power: Samples, *, upper: float) -> Samples:
    """Flatten a spectrum (see smoothed_power) up to `upper`, a fraction of Nyquist; none above.

    Linear phase, no delay. The result has unit power.
    """
    out = filtered(samples, whitening(power, upper=upper))
    level = float(np.sqrt(np.vdot(out, out) / max(1, out.size)))
    if level > 0.0:
        out /= np.float32(level)
    return out


def whitening(power: Samples, *, upper: float, floor: float = 1e-4) -> Samples:
    """Taps, an odd number, that flatten a spectrum up to `upper`, a fraction of Nyquist.

    `floor` is power relative to the strongest band below which bands are left weak rather than
    raised.
    """
    bins = np.linspace(0.0, 1.0, power.size)
    inside = bins <= upper
    strength = 1.0 / np.sqrt(power + floor * np.max(power[inside], initial=0.0) + 1e-20)
    edge = np.clip((upper - bins) / (0.15 * upper), 0.0, 1.0) * np.clip(bins / 0.008, 0.0, 1.0)
    return zero_phase(WHITENING_TAPS, strength * edge)


def half_flat(spectrum: Spectrum, *, of_mean: float = 0.0, of_highest: float = 0.0) -> Spectrum:
    """Take half of the level (in decibels) of every frequency away, in place.

    of_mean, of_highest: parts of the mean and of the highest magnitude that are added first, so
    that what is no more than noise is not raised.
    """
    level = np.sqrt(spectrum.real**2 + spectrum.imag**2)
    floor = of_mean * np.mean(level) if of_mean else of_highest * np.max(level, initial=0.0)
    level += np.float32(floor + 1e-12)
    np.sqrt(level, out=level)
    np.reciprocal(level, out=level)
    # Real and imaginary parts apart: several times as quick as dividing complex numbers.
    spectrum.real *= level
    spectrum.imag *= level
    return spectrum


def low_pass(taps: int, cutoff: float) -> Samples:
    """Taps (an odd number) of a windowed-sinc low pass; cutoff as a fraction of Nyquist."""
    places = np.arange(taps) - taps // 2
    shape = np.sinc(cutoff * places) * np.hamming(taps)
    return np.asarray(shape / np.sum(shape), dtype=np.float32)


def zero_phase(taps: int, magnitude: npt.NDArray[np.floating]) -> Samples:
    """Taps (an odd number) of a filter of a magnitude given evenly from 0 to Nyquist."""
    impulse = fft.irfft(magnitude.astype(np.float64))
    half = taps // 2
    middle = np.concatenate([impulse[-half:], impulse[: half + 1]])
    return np.asarray(middle * np.hamming(taps), dtype=np.float32)


def filtered(samples: Samples, taps: Samples, step: int = 1) -> Samples:
    """Every `step`-th sample of the convolution with an odd number of taps centred on 0."""
    return convolved(samples, taps, taps.size // 2, 0, samples.size, step)


def convolved(
    samples: Samples, taps: Samples, ahead: int, first: int, count: int, step: int = 1
) -> Samples:
    """Every `step`-th of `count` samples, from `first`, of the convolution with taps.

    ahead: how many of the taps come before time 0. Transforms are no longer than the taps need, and
    several are made at once: what is worked on stays in the processor's own memory.
    """
    over = taps.size - 1
    size = fast_size(min(max(SHORT_TRANSFORM, 4 * taps.size), count + over + step))
    chunk = (size - over) // step * step
    response = fft.rfft(taps, size)
    out = np.empty(-(-count // step), dtype=np.float32)
    many = max(1, SAMPLES_AT_ONCE // size) * chunk
    for at in range(0, count, many):
        wanted = min(many, count - at)
        rows = -(-wanted // chunk)
        part = cut(samples, first + at + ahead - over, (rows - 1) * chunk + size)
        spectra = fft.rfft(sliding_window_view(part, size)[::chunk], axis=1)
        spectra *= response
        found = fft.irfft(spectra, size, axis=1)[:, over : over + chunk : step].reshape(-1)
        here = slice(at // step, at // step + -(-wanted // step))
        out[here] = found[: here.stop - here.start]
    return out


def frame_sums(a: Samples, b: Samples, frame: int) -> Samples:
    """Sum of a * b over successive frames of `frame` samples; a tail shorter than one is left."""
    count = min(a.size, b.size) // frame
    left = a[: count * frame].reshape(count, frame)
    right = b[: count * frame].reshape(count, frame)
    return np.asarray(np.einsum("ij,ij->i", left, right), dtype=np.float32)


def moving_sum(values: Samples, width: int) -> Samples:
    """Centred sum over `width` (odd) frames, shorter at the ends."""
    half = width // 2
    total = np.concatenate([[0.0], np.cumsum(values, dtype=np.float64)])
    index = np.arange(values.size)
    high = np.minimum(values.size, index + half + 1)
    low = np.maximum(0, index - half)
    return np.asarray(total[high] - total[low], dtype=np.float32)


def cut(samples: Samples, first: int, count: int) -> Samples:
    """`count` samples from `first`; zeros where the file has none."""
    if first >= 0 and first + count <= samples.size:
        return samples[first : first + count]
    out = np.zeros(count, dtype=np.float32)
    low, high = max(0, first), min(samples.size, first + count)
    if high > low:
        out[low - first : high - first] = samples[low:high]
    return out


def fast_size(count: int) -> int:
    """A quick transform length of at least `count`."""
    return int(fft.next_fast_len(count, real=True))


def fractionally_later(samples: Samples, by: float) -> Samples:
    """samples read `by` (0 to 1) of a sample later, by a windowed sinc of 10 taps."""
    if abs(by) < 1e-3:
        return samples
    places = np.arange(-5, 5) + by
    taps = np.sinc(places) * np.cos(np.pi * places / 12) ** 2
    taps = (taps / np.sum(taps)).astype(np.float32)
    # out[n] = sum_k samples[n + k] * sinc(k - by), k reversed for a convolution
    return np.convolve(samples, taps, mode="full")[5 : 5 + samples.size].astype(np.float32)


def moving_max(values: Samples, width: int) -> Samples:
    """Centred maximum over `width` (odd) frames."""
    return np.asarray(ndimage.maximum_filter1d(values, width, mode="nearest"), dtype=np.float32)
