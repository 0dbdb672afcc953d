"""Every format that import reads, decoded to the sample."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from logbook.errors import LogbookError
from logbook.listening.decoding import blocks, decode, decode_channels
from tests.listening import material as m

RATE = 44_100


@pytest.fixture(scope="module")
def noise() -> m.Audio:
    """Three seconds of different noise in two channels, dull enough for every codec."""
    rng = np.random.default_rng(5)
    sound = rng.normal(size=(3 * RATE, 2))
    return 0.2 * np.apply_along_axis(lambda x: np.convolve(x, np.ones(8) / 8, "same"), 0, sound)


@pytest.mark.parametrize(
    ("suffix", "subtype"),
    [
        ("wav", "PCM_16"),
        ("wav", "PCM_24"),
        ("wav", "FLOAT"),
        ("aiff", "PCM_16"),
        ("flac", "PCM_24"),
    ],
)
def test_lossless(noise: m.Audio, tmp_path: Path, suffix: str, subtype: str) -> None:
    sound = decode(m.save(noise, tmp_path / f"x.{suffix}", RATE, subtype=subtype))
    assert (sound.rate, sound.channels, sound.samples.size) == (RATE, 2, len(noise))
    assert sound.seconds == 3.0
    assert (
        np.max(np.abs(sound.samples - np.mean(noise, axis=1))) < 3.2e-5
    )  # libsndfile cuts off, not rounds


def test_rf64(noise: m.Audio, tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    sf.write(path, noise, RATE, subtype="PCM_16", format="RF64")
    assert decode(path).samples.size == len(noise)


@pytest.mark.parametrize(("suffix", "subtype"), [("ogg", "VORBIS"), ("mp3", "MPEG_LAYER_III")])
def test_lossy_without_delay(noise: m.Audio, tmp_path: Path, suffix: str, subtype: str) -> None:
    path = tmp_path / f"x.{suffix}"
    sf.write(path, noise, RATE, subtype=subtype)
    decoded = decode(path).samples[: len(noise)]
    assert best_lag(decoded, np.mean(noise, axis=1)) == 0


@pytest.mark.skipif(not m.HAVE_FFMPEG, reason="ffmpeg is not installed")
@pytest.mark.parametrize("codec", ["aac", "alac", "libmp3lame", "libopus"])
def test_what_ffmpeg_writes(noise: m.Audio, tmp_path: Path, codec: str) -> None:
    suffix = {"libmp3lame": "mp3", "libopus": "opus"}.get(codec, "m4a")
    if suffix == "m4a":
        pytest.importorskip("av")
    source = m.save(noise, tmp_path / "x.wav", RATE)
    sound = decode(m.encode(source, tmp_path / f"x.{suffix}", "-c:a", codec))
    wanted = np.mean(noise, axis=1)
    if sound.rate != RATE:
        wanted = m.resample(wanted[:, None], RATE, sound.rate)[:, 0]
    assert best_lag(sound.samples, wanted) == 0
    if codec == "alac":
        assert np.max(np.abs(sound.samples - wanted)) < 1e-4


def best_lag(a: np.ndarray, b: np.ndarray) -> int:
    size = 1 << 19
    found = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)))
    best = int(np.argmax(found))
    return best if best < size // 2 else best - size


def test_channels_that_cancel_are_not_lost(noise: m.Audio, tmp_path: Path) -> None:
    both = np.stack([noise[:, 0], -noise[:, 0]], axis=1)
    sound = decode(m.save(both, tmp_path / "x.wav", RATE))
    assert np.max(np.abs(sound.samples - noise[:, 0])) < 3.2e-5  # libsndfile cuts off, not rounds


def test_blocks_are_the_whole_file(noise: m.Audio, tmp_path: Path) -> None:
    path = m.save(np.tile(noise, (2, 1)), tmp_path / "x.wav", RATE)
    whole, rate = decode_channels(path)
    assert (rate, whole.shape) == (RATE, (6 * RATE, 2))
    assert len(list(blocks(path))) == 3
    assert np.array_equal(np.concatenate([b.samples for b in blocks(path)]), whole)


def test_m4a_without_its_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.m4a"
    path.write_bytes(b"....ftypM4A ")
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(LogbookError, match="needs av to be decoded"):
        decode(path)


def test_a_damaged_m4a(tmp_path: Path) -> None:
    pytest.importorskip("av")
    path = tmp_path / "x.m4a"
    path.write_bytes(b"nothing like it" * 40)
    with pytest.raises(LogbookError, match=r"x\.m4a cannot be decoded"):
        decode(path)


def test_a_file_with_no_samples(tmp_path: Path) -> None:
    path = m.save(np.zeros((0, 1)), tmp_path / "x.wav", RATE)
    with pytest.raises(LogbookError, match="no samples"):
        decode(path)
    with pytest.raises(LogbookError, match="no samples"):
        decode_channels(path)


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="there is no file"):
        decode(tmp_path)
