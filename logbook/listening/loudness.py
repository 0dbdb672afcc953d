"""Integrated loudness, true peak, clipping and silence at the ends of a file.

Loudness after ITU-R BS.1770-4 and EBU R 128: K-weighting, blocks of 400 ms overlapping by three
quarters, gates at -70 LUFS and 10 LU under the ungated mean. The weighting filters are given by
the recommendation at 48 kHz only; at other rates they are the same analogue filters taken
through the bilinear transform again. True peak is the highest sample after fourfold oversampling
(twofold from 96 kHz, none from 192 kHz). The file is read in blocks and never held.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy import signal

from logbook.listening.decoding import Samples, blocks
from logbook.listening.extra import ListeningError

Floats = npt.NDArray[np.float64]

ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0
OFFSET_LUFS = -0.691
STEP_SECONDS = 0.1  # a quarter of a gating block
FULL_SCALE = 1.0 - 2.0**-15  # the highest 16-bit sample, give or take nothing
SILENCE_DBFS = -60.0
EITHER_SIDE = 24  # samples that count towards a value between two samples
SURROUND_WEIGHT = 1.41  # the two surround channels of five or six


@dataclass(frozen=True, kw_only=True, slots=True)
class Levels:
    """Levels of one file.

    loudness_lufs: integrated loudness, None when nothing passes the gates. true_peak_dbtp and
    sample_peak_dbfs: decibels, None for digital silence. clipped_samples: samples at full scale
    beside another at full scale, all channels together. silence_before_s, silence_after_s:
    seconds under -60 dBFS at the ends (both the whole length for a silent file).
    """

    loudness_lufs: float | None
    true_peak_dbtp: float | None
    sample_peak_dbfs: float | None
    clipped_samples: int
    silence_before_s: float
    silence_after_s: float
    seconds: float
    rate_hz: int
    channels: int


def k_weighting(rate: int) -> Floats:
    """Second-order sections of the K-weighting filter at a sample rate.

    Analogue parameters fitted so that at 48 kHz the coefficients are those of BS.1770-4
    (tables 1 and 2): a shelf of +4 dB at 1682 Hz, and a high pass at 38 Hz.
    """
    k = np.tan(np.pi * 1681.974450955533 / rate)
    q = 0.7071752369554196
    high = 10 ** (3.999843853973347 / 20)
    band = high**0.4996667741545416
    a0 = 1 + k / q + k * k
    shelf = [
        (high + band * k / q + k * k) / a0,
        2 * (k * k - high) / a0,
        (high - band * k / q + k * k) / a0,
        1.0,
        2 * (k * k - 1) / a0,
        (1 - k / q + k * k) / a0,
    ]
    k = np.tan(np.pi * 38.13547087602444 / rate)
    q = 0.5003270373238773
    a0 = 1 + k / q + k * k
    high_pass = [1.0, -2.0, 1.0, 1.0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0]
    return np.array([shelf, high_pass])


def measure_levels(path: Path) -> Levels:
    """Measure one file. Raises ListeningError when it cannot be decoded or is empty."""
    meter: _Meter | None = None
    for block in blocks(path):
        if meter is None:
            meter = _Meter(block.rate, block.samples.shape[1])
        if not np.isfinite(np.sum(block.samples)):
            raise ListeningError(
                f"{path.name} holds samples that are not numbers", "give an undamaged file"
            )
        meter.take(block.samples)
    if meter is None or meter.frames == 0:
        raise ListeningError(f"{path.name} has no samples in it", "give a file with sound in it")
    return meter.levels()


def integrated(step_power: Floats) -> float | None:
    """LUFS from the weighted power of successive 100 ms steps; None when all is gated out."""
    if step_power.size < 4:
        return None
    power = np.convolve(step_power, np.full(4, 0.25), mode="valid")
    loud = OFFSET_LUFS + 10 * np.log10(np.maximum(power, 1e-30))
    first = power[loud > ABSOLUTE_GATE_LUFS]
    if first.size == 0:
        return None
    gate = OFFSET_LUFS + 10 * np.log10(np.mean(first)) + RELATIVE_GATE_LU
    second = power[(loud > ABSOLUTE_GATE_LUFS) & (loud > gate)]
    return float(OFFSET_LUFS + 10 * np.log10(np.mean(second)))


def channel_weights(channels: int) -> Floats:
    """Weights of BS.1770-4: surrounds 1.41, the low-frequency channel of six left out.

    Four channels are taken as left, right, centre and back, which is how an unlabelled file of
    four is read elsewhere too.
    """
    weights = np.ones(channels)
    if channels == 4:
        weights[3] = SURROUND_WEIGHT
    elif channels == 5:
        weights[3:] = SURROUND_WEIGHT
    elif channels == 6:
        weights[3] = 0.0
        weights[4:] = SURROUND_WEIGHT
    return weights


class _Meter:
    """Takes a file block by block; everything it keeps is small."""

    def __init__(self, rate: int, channels: int) -> None:
        self.rate = rate
        self.frames = 0
        self.sections = k_weighting(rate)
        self.state = np.zeros((2, 2, channels))
        self.weights = channel_weights(channels)
        self.step = round(STEP_SECONDS * rate)
        self.rest: Floats = np.empty(0)
        self.steps: list[Floats] = []
        self.times = 4 if rate < 96_000 else 2 if rate < 192_000 else 1
        self.taps = _between_samples(self.times)
        self.edge: Samples = np.zeros((2 * EITHER_SIDE, channels), dtype=np.float32)
        self.full: npt.NDArray[np.bool_] = np.zeros((1, channels), dtype=np.bool_)
        self.full_counted: npt.NDArray[np.bool_] = np.zeros((1, channels), dtype=np.bool_)
        self.peak = self.true_peak = 0.0
        self.clipped = 0
        self.first_loud: int | None = None
        self.last_loud = -1

    def take(self, block: Samples) -> None:
        """Account for one more block of frames x channels."""
        size = np.max(np.abs(block), axis=1)
        self.peak = max(self.peak, float(np.max(size)))
        loud = np.flatnonzero(size >= 10 ** (SILENCE_DBFS / 20))
        if loud.size:
            if self.first_loud is None:
                self.first_loud = self.frames + int(loud[0])
            self.last_loud = self.frames + int(loud[-1])
        self._count_clipped(block)
        self._oversample(block)
        weighted, self.state = signal.sosfilt(self.sections, block, axis=0, zi=self.state)
        power = np.concatenate([self.rest, weighted**2 @ self.weights])
        whole = power.size // self.step * self.step
        self.steps.append(np.mean(power[:whole].reshape(-1, self.step), axis=1))
        self.rest = power[whole:]
        self.frames += len(block)

    def _count_clipped(self, block: Samples) -> None:
        full = np.concatenate([self.full, np.abs(block) >= FULL_SCALE])
        beside = full & (np.roll(full, 1, axis=0) | np.roll(full, -1, axis=0))
        beside[0] = full[0] & full[1]
        beside[-1] = full[-1] & full[-2]
        # The last frame of the block before was counted only if it had a neighbour then.
        late = beside[0] & ~self.full_counted[0]
        self.clipped += int(np.sum(late)) + int(np.sum(beside[1:]))
        self.full, self.full_counted = full[-1:], beside[-1:]

    def _oversample(self, block: Samples) -> None:
        joined = np.concatenate([self.edge, block])
        self.edge = joined[-2 * EITHER_SIDE :]
        if self.times == 1:
            self.true_peak = self.peak
            return
        # Only where the samples are loud can the highest value lie between them.
        highest = np.max(np.abs(joined), axis=1)
        if float(np.max(highest)) < 0.5 * self.true_peak:
            return
        up = signal.upfirdn(self.taps, joined, self.times, axis=0)
        # Values at either end lack neighbours: they come with the block before or after.
        whole = up[self.taps.size - 1 : (len(joined) - 1) * self.times + 1]
        self.true_peak = max(self.true_peak, float(np.max(np.abs(whole))), self.peak)

    def levels(self) -> Levels:
        """What has been found; nothing more may be taken after it."""
        self._oversample(np.zeros((2 * EITHER_SIDE, len(self.weights)), dtype=np.float32))
        steps = np.concatenate(self.steps) if self.steps else np.empty(0)
        seconds = self.frames / self.rate
        before = seconds if self.first_loud is None else self.first_loud / self.rate
        after = (self.frames - 1 - self.last_loud) / self.rate
        return Levels(
            loudness_lufs=integrated(steps),
            true_peak_dbtp=_decibels(self.true_peak),
            sample_peak_dbfs=_decibels(self.peak),
            clipped_samples=self.clipped,
            silence_before_s=before,
            silence_after_s=after,
            seconds=seconds,
            rate_hz=self.rate,
            channels=len(self.weights),
        )


def _between_samples(times: int) -> Samples:
    """Taps of the low pass that fills in `times - 1` values between two samples."""
    if times == 1:
        return np.ones(1, dtype=np.float32)
    half = EITHER_SIDE * times
    taps = signal.firwin(2 * half + 1, 1.0 / times, window=("kaiser", 6.0))
    return np.asarray(times * taps, dtype=np.float32)


def _decibels(value: float) -> float | None:
    return float(20 * np.log10(value)) if value > 0.0 else None
