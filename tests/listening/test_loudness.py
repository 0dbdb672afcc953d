"""Levels of made signals whose levels are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.errors import LogbookError
from logbook.listening.loudness import channel_weights, integrated, measure_levels
from tests.listening import material as m

RATE = 48_000


def sine(hertz: float, seconds: float, amplitude: float, rate: int = RATE) -> m.Audio:
    t = np.arange(round(seconds * rate)) / rate
    x = amplitude * np.sin(2 * np.pi * hertz * t)
    return np.stack([x, x], axis=1)


def test_twice_the_amplitude_is_six_decibels(tmp_path: Path) -> None:
    quiet = measure_levels(m.save(sine(997, 5, 0.1), tmp_path / "a.wav", RATE))
    loud = measure_levels(m.save(sine(997, 5, 0.2), tmp_path / "b.wav", RATE))
    assert quiet.loudness_lufs is not None
    assert loud.loudness_lufs is not None
    assert loud.loudness_lufs - quiet.loudness_lufs == pytest.approx(6.02, abs=0.02)


@pytest.mark.parametrize("rate", [22_050, 44_100, 96_000])
def test_loudness_does_not_hang_on_the_rate(tmp_path: Path, rate: int) -> None:
    at_48k = measure_levels(m.save(sine(997, 5, 0.1), tmp_path / "a.wav", RATE))
    other = measure_levels(m.save(sine(997, 5, 0.1, rate), tmp_path / "b.wav", rate))
    assert other.loudness_lufs == pytest.approx(at_48k.loudness_lufs, abs=0.03)


def test_true_peak_between_the_samples(tmp_path: Path) -> None:
    # A quarter of the rate, sampled at 45 degrees: 3 dB more between the samples than on them.
    t = np.arange(5 * RATE)
    fade = np.minimum(1.0, np.minimum(t, t[::-1]) / 4800)
    x = 0.5 * fade * np.sin(2 * np.pi * t / 4 + np.pi / 4)
    levels = measure_levels(m.save(x[:, None], tmp_path / "a.wav", RATE))
    assert levels.sample_peak_dbfs == pytest.approx(-9.03, abs=0.02)
    assert levels.true_peak_dbtp == pytest.approx(-6.02, abs=0.1)


@pytest.mark.parametrize("rate", [8_000, 44_100, 96_000, 176_400, 192_000, 384_000])
def test_a_faded_sine_over_many_blocks_peaks_where_it_does(tmp_path: Path, rate: int) -> None:
    # Long enough that blocks meet in the middle of it, where a cut-off kernel would overshoot.
    seconds = 4 * (1 << 17) / rate
    t = np.arange(round(seconds * rate)) / rate
    fade = np.clip(np.minimum(t, seconds - t) / (0.2 * seconds), 0, 1)
    x = 0.5 * fade * np.sin(2 * np.pi * 0.0213 * rate * t)
    path = tmp_path / "a.wav"
    m.sf.write(path, np.stack([x, 0.6 * x, 0.3 * x, 0.2 * x], axis=1), rate, subtype="FLOAT")
    levels = measure_levels(path)
    assert levels.true_peak_dbtp == pytest.approx(-6.02, abs=0.05)
    assert levels.channels == 4


def test_floats_over_full_scale(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    x = sine(997, 7, 10 ** (30 / 20)) * np.hanning(7 * RATE)[:, None]
    m.sf.write(path, x, RATE, subtype="FLOAT")
    assert measure_levels(path).true_peak_dbtp == pytest.approx(30.0, abs=0.05)


def test_silence_at_the_ends(tmp_path: Path) -> None:
    sound = np.concatenate([np.zeros((RATE, 2)), sine(300, 2, 0.5), np.zeros((RATE // 2, 2))])
    levels = measure_levels(m.save(sound, tmp_path / "a.wav", RATE))
    assert levels.silence_before_s == pytest.approx(1.0, abs=0.001)
    assert levels.silence_after_s == pytest.approx(0.5, abs=0.001)
    assert (levels.seconds, levels.rate_hz, levels.channels) == (3.5, RATE, 2)


def test_digital_silence(tmp_path: Path) -> None:
    levels = measure_levels(m.save(np.zeros((RATE, 1)), tmp_path / "a.wav", RATE))
    assert (levels.loudness_lufs, levels.true_peak_dbtp, levels.sample_peak_dbfs) == (
        None,
        None,
        None,
    )
    assert levels.silence_before_s == levels.silence_after_s == 1.0


def test_clipped_samples_are_those_side_by_side_at_full_scale(tmp_path: Path) -> None:
    sound = np.full((1000, 1), 0.5)
    sound[100] = 1.0  # alone: a peak that just touches
    sound[200:204] = 1.0
    sound[300:302] = -1.0
    path = tmp_path / "a.wav"
    m.sf.write(path, sound, RATE, subtype="PCM_24")
    assert measure_levels(path).clipped_samples == 6


def test_clipping_across_a_block_is_counted_once(tmp_path: Path) -> None:
    sound = np.full(((1 << 17) + 1000, 1), 0.1)
    sound[(1 << 17) - 2 : (1 << 17) + 3] = 1.0
    path = tmp_path / "a.wav"
    m.sf.write(path, sound, RATE, subtype="PCM_24")
    assert measure_levels(path).clipped_samples == 5


def test_gates() -> None:
    # Ten seconds at -20, ten at -40: the second is gated out by the relative gate.
    loud, soft = 10 ** ((-20 + 0.691) / 10), 10 ** ((-40 + 0.691) / 10)
    power = np.concatenate([np.full(100, loud), np.full(100, soft)])
    assert integrated(power) == pytest.approx(-20.0, abs=0.1)
    assert integrated(np.full(100, 1e-9)) is None
    assert integrated(np.full(3, 1.0)) is None


def test_surround_weights() -> None:
    assert channel_weights(2).tolist() == [1.0, 1.0]
    assert channel_weights(4).tolist() == [1.0, 1.0, 1.0, 1.41]
    assert channel_weights(6).tolist() == [1.0, 1.0, 1.0, 0.0, 1.41, 1.41]
    assert channel_weights(5).tolist() == [1.0, 1.0, 1.0, 1.41, 1.41]


def test_a_damaged_file(tmp_path: Path) -> None:
    path = tmp_path / "a.flac"
    path.write_bytes(b"fLaC and then nothing")
    with pytest.raises(LogbookError, match=r"a\.flac cannot be decoded"):
        measure_levels(path)
