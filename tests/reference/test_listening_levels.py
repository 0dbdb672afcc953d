"""Loudness and true peak against the recommendation, the EBU's test signals, and ffmpeg."""

from __future__ import annotations

import functools
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from logbook.listening.loudness import k_weighting, measure_levels
from tests.listening import material as m

RATE = 48_000


def test_filter_coefficients_at_48_khz() -> None:
    # ITU-R BS.1770-4, annex 1, tables 1 and 2.
    shelf, high_pass = k_weighting(48_000)
    assert shelf == pytest.approx(
        [
            1.53512485958697,
            -2.69169618940638,
            1.19839281085285,
            1.0,
            -1.69065929318241,
            0.73248077421585,
        ],
        abs=1e-6,
    )
    assert high_pass == pytest.approx(
        [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621], abs=1e-6
    )


def sine(levels_and_seconds: list[tuple[float, float]], hertz: float = 1000.0) -> m.Audio:
    parts = []
    for level, seconds in levels_and_seconds:
        t = np.arange(round(seconds * RATE)) / RATE
        parts.append(10 ** (level / 20) * np.sin(2 * np.pi * hertz * t))
    return np.stack([np.concatenate(parts)] * 2, axis=1)


@pytest.mark.parametrize(
    ("levels_and_seconds", "loudness"),
    [
        # EBU Tech 3341, minimum requirements test signals 1 to 4, each to 0.1 LU.
        ([(-23.0, 20.0)], -23.0),
        ([(-33.0, 20.0)], -33.0),
        ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
        ([(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)], -23.0),
    ],
)
def test_ebu_signals(
    tmp_path: Path, levels_and_seconds: list[tuple[float, float]], loudness: float
) -> None:
    path = m.save(sine(levels_and_seconds), tmp_path / "a.wav", RATE, subtype="PCM_24")
    assert measure_levels(path).loudness_lufs == pytest.approx(loudness, abs=0.1)


@functools.cache
def strum(seed: int) -> m.Audio:
    notes = m.perform(seed, bars=6)
    return m.pluck(notes, seconds=13.0, rate=44_100, seed=seed)


def figure(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found is not None
    return float(found[1])


@pytest.mark.skipif(not m.HAVE_FFMPEG, reason="ffmpeg is not installed")
@pytest.mark.parametrize(
    ("name", "rate", "change"),
    [
        pytest.param("stereo.wav", 44_100, lambda x: 8 * x, id="stereo"),
        pytest.param("mono.wav", 44_100, lambda x: 5 * x[:, :1], id="mono"),
        pytest.param("soft.flac", 44_100, lambda x: 0.2 * x, id="soft"),
        pytest.param("high.wav", 96_000, lambda x: 6 * m.resample(x, 44_100, 96_000), id="96k"),
        pytest.param("clipped.wav", 44_100, lambda x: np.clip(60 * x, -0.9, 0.9), id="clipped"),
        pytest.param(
            "swelling.wav",
            44_100,
            lambda x: 8 * x * np.linspace(0.003, 1, len(x))[:, None],
            id="swelling",
        ),
    ],
)
def test_against_ffmpeg(
    tmp_path: Path, name: str, rate: int, change: Callable[[m.Audio], m.Audio]
) -> None:
    # ffmpeg's ebur128 filter: loudness to 0.1 LU, true peak to 0.2 dB (it prints one decimal).
    path = m.save(change(strum(3)), tmp_path / name, rate)
    command = ["ffmpeg", "-nostats", "-hide_banner", "-i", str(path)]
    command += ["-af", "ebur128=peak=true", "-f", "null", "-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    summary = said[said.rindex("Summary") :]
    loudness = figure(r"I:\s+(-?[\d.]+) LUFS", summary)
    peak = figure(r"Peak:\s+(-?[\d.]+) dBFS", summary)
    levels = measure_levels(path)
    assert levels.loudness_lufs == pytest.approx(loudness, abs=0.1)
    assert levels.true_peak_dbtp == pytest.approx(peak, abs=0.2)


@pytest.mark.skipif(not m.HAVE_FFMPEG, reason="ffmpeg is not installed")
@pytest.mark.parametrize(
    ("rate", "hertz", "channels", "peak"),
    [
        (48_000, 997, 2, 0.5),
        (44_100, 9_000, 1, 0.5),
        (192_000, 5_000, 2, 0.4),
        (48_000, 3_000, 4, 30.0),
    ],
)
def test_true_peak_of_long_faded_sines(
    tmp_path: Path, rate: int, hertz: int, channels: int, peak: float
) -> None:
    # ffmpeg's ebur128 filter prints one decimal: 0.05 dB is its rounding, 0.1 dB the rest.
    t = np.arange(20 * rate) / rate
    fade = np.clip(np.minimum(t, 20 - t) / 3, 0, 1)
    x = (peak * fade * np.sin(2 * np.pi * hertz * t))[:, None] * np.linspace(1, 0.6, channels)
    path = tmp_path / "x.wav"
    m.sf.write(path, x, rate, subtype="FLOAT")
    command = ["ffmpeg", "-nostats", "-hide_banner", "-i", str(path)]
    command += ["-af", "ebur128=peak=true", "-f", "null", "-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    wanted = figure(r"Peak:\s+(-?[\d.]+) dBFS", said[said.rindex("Summary") :])
    assert measure_levels(path).true_peak_dbtp == pytest.approx(wanted, abs=0.1)
