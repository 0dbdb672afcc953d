"""The pitch of a single line, frame by frame: a voice, a flute, a bass, one note at a time.

Each frame's sound is held against itself a little later, as in YIN (de Cheveigne and Kawahara,
"YIN, a fundamental frequency estimator for speech and music", 2002): the difference function,
divided by its mean over shorter lags, dips to near 0 at the period. All dips of a frame stand for
election, and a path through the frames is chosen that dips deep, moves little, and prefers the
shorter period of two (its double dips too). Frames are `HOP` samples apart at `RATE`; pitches are
MIDI numbers with cents as decimals on A4 = 440 Hz, NaN where nothing pitched sounds.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.signals import Samples, filtered, low_pass, resampled

Floats = npt.NDArray[np.float64]

RATE = 22_050
HOP = 220  # 10 ms
WINDOW = 1024
LOWEST_HZ, HIGHEST_HZ = 29.0, 2200.0  # below a five-string bass's low B, above a flute's C7
DIPS = 6  # of a frame that stand for election
DEEP_ENOUGH = 0.6  # of the difference function over its mean: shallower is no dip
NO_PITCH = 0.4  # what a frame without pitch costs: deeper dips are taken for notes
LONGER = 0.02  # an octave down costs so much
MOVE = 0.6  # an octave from one frame to the next costs so much
BEGIN = 0.1  # to begin or to end
LOW_PASS, LOW_PASS_TAPS = 0.18, 65  # 2 kHz, as a share of half the rate
SILENT_DB = -45.0  # below the loudest


class PitchTrack(NamedTuple):
    """Frame by frame: pitch (MIDI, NaN for none), depth of its dip (0 clear to 1), level in dB."""

    midi: Floats
    depth: Floats
    level: Floats


def track_pitch(samples: Samples, rate: int) -> PitchTrack:
    """The pitch of a single line; frame n is centred n * HOP / RATE seconds into the sound."""
    # Breath and consonants lie above the partials that tell a pitch.
    audio = filtered(resampled(samples, rate, RATE), low_pass(LOW_PASS_TAPS, LOW_PASS))
    longest = int(RATE / LOWEST_HZ) + 2
    size = 1 << (WINDOW + longest - 1).bit_length()
    count = max(1, -(-audio.size // HOP))
    before = WINDOW // 2
    padded = np.pad(audio, (before, size + HOP))
    view = np.lib.stride_tricks.sliding_window_view(padded, size)[::HOP][:count]
    period = np.full((count, DIPS), np.nan)
    depth = np.full((count, DIPS), 1.0)
    power = np.empty(count)
    for at in range(0, count, 512):
        frames = view[at : at + 512].astype(np.float64)
        power[at : at + len(frames)] = np.mean(frames[:, :WINDOW] ** 2, axis=1)
        period[at : at + len(frames)], depth[at : at + len(frames)] = _dips(frames, longest)
    level = 10.0 * np.log10(power + 1e-12)
    loud = level > max(float(np.max(level)) + SILENT_DB, -75.0)
    depth[~loud] = 1.0
    period[~loud] = np.nan
    midi = 69.0 + 12.0 * np.log2(RATE / period / 440.0)
    path = _best_path(midi, depth)
    rows = np.arange(count)
    voiced = path < DIPS
    chosen = np.where(voiced, path, 0)
    return PitchTrack(
        midi=np.where(voiced, midi[rows, chosen], np.nan),
        depth=np.where(voiced, depth[rows, chosen], 1.0),
        level=level,
    )


def _dips(frames: Floats, longest: int) -> tuple[Floats, Floats]:
    """Periods in samples and depths of the deepest dips of each frame, frames x DIPS."""
    size = frames.shape[1]
    head = frames.copy()
    head[:, WINDOW:] = 0.0
    spectrum = fft.rfft(frames, axis=1) * np.conj(fft.rfft(head, axis=1))
    # No lag up to `longest` wraps round, since the head and the lag fit into a frame.
    product = fft.irfft(spectrum, size, axis=1)[:, : longest + 1]
    total = np.concatenate([np.zeros((len(frames), 1)), np.cumsum(frames**2, axis=1)], axis=1)
    energy = total[:, WINDOW : WINDOW + longest + 1] - total[:, : longest + 1]
    difference = np.maximum(energy[:, :1] + energy - 2.0 * product, 0.0)
    lags = np.arange(1, longest + 1)
    mean = np.cumsum(difference[:, 1:], axis=1) / lags
    normal = np.ones_like(difference)
    normal[:, 1:] = difference[:, 1:] / np.maximum(mean, 1e-12)
    shortest = int(RATE / HIGHEST_HZ)
    left, mid, right = normal[:, :-2], normal[:, 1:-1], normal[:, 2:]
    dip = (mid < left) & (mid <= right) & (mid < DEEP_ENOUGH)
    dip[:, : shortest - 1] = False
    bend = left - 2.0 * mid + right
    shift = np.where(bend > 1e-9, 0.5 * (left - right) / np.maximum(bend, 1e-9), 0.0)
    bottom = np.maximum(mid - 0.25 * (left - right) * shift, 0.0)
    cost = np.where(dip, bottom + LONGER * np.log2(lags[:-1]), np.inf)
    order = np.argpartition(cost, DIPS, axis=1)[:, :DIPS]
    rows = np.arange(len(frames))[:, None]
    found = dip[rows, order]
    periods = np.where(found, lags[order] + shift[rows, order], np.nan)
    return periods, np.where(found, bottom[rows, order], 1.0)


def _best_path(midi: Floats, depth: Floats) -> npt.NDArray[np.int_]:
    """Which dip of each frame is taken, DIPS for none: the cheapest way through (Viterbi)."""
    count = len(midi)
    there = np.isfinite(midi)
    pitch = np.where(there, midi, 0.0)
    # An octave down costs LONGER: pitches are counted down from the highest.
    cost = np.where(there, depth + LONGER * (96.0 - pitch) / 12.0, 1e3)
    back = np.empty((count, DIPS + 1), dtype=np.int_)
    total = np.concatenate([cost[0], [NO_PITCH]])
    step = np.full((DIPS + 1, DIPS + 1), BEGIN)
    step[DIPS, DIPS] = 0.0
    for n in range(1, count):
        step[:DIPS, :DIPS] = MOVE / 12.0 * np.abs(pitch[n - 1][:, None] - pitch[n])
        # A leap is a new note: no dearer than to end and begin.
        np.minimum(step[:DIPS, :DIPS], 2 * BEGIN, out=step[:DIPS, :DIPS])
        ways = total[:, None] + step
        back[n] = np.argmin(ways, axis=0)
        total = ways[back[n], np.arange(DIPS + 1)]
        total[:DIPS] += cost[n]
        total[DIPS] += NO_PITCH
        total -= total.min()
    path = np.empty(count, dtype=np.int_)
    path[-1] = int(np.argmin(total))
    for n in range(count - 1, 0, -1):
        path[n - 1] = back[n, path[n]]
    return path
