"""Decoding: any file that import reads, as mono or stereo float32 samples, exact to the sample.

libsndfile (through soundfile) reads WAV of every depth, RF64, AIFF, FLAC, MP3, Ogg Vorbis and
Opus; M4A (AAC and ALAC) goes through av. Both leave out the encoder delay that MP3 and AAC
files declare, so a copy lines up with what it was copied from. Files are read in blocks: what
is held is the result, never the whole multi-channel file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import soundfile as sf

from logbook.listening.extra import HOW_TO_GET, ListenExtraMissingError, ListeningError
from logbook.listening.quiet_decoding import hushed
from logbook.listening.shelving import Pile, Shelf

Samples = npt.NDArray[np.float32]

BLOCK_FRAMES = 1 << 17
AV_SUFFIXES = frozenset(
    {".m4a", ".mp4", ".m4b", ".aac", ".alac", ".wv", ".mkv", ".mka", ".webm", ".avi", ".mov"}
)


# Mean of the channels this far below the first (power) means that they cancel.
CANCELLING = 1e-3
# Part of a channel that no gain of the other explains, for the two to differ: 60 dB is what a lossy
# copy of one sound in both leaves at its worst.
DIFFERENT = 1e-3
# A header can promise anything; no more than this is set aside before sound arrives.
LONGEST_HINT = 1 << 26


class Block(NamedTuple):
    """Frames x channels, the sample rate, and the whole file's length in frames (0: unknown)."""

    samples: Samples
    rate: int
    frames: int


@dataclass(frozen=True, kw_only=True, slots=True)
class DecodedSound:
    """A decoded file: `samples` is one channel of float32, full scale 1.0, at `rate` hertz.

    wide: whether its first two channels hold different sound, not one at two levels.
    """

    samples: Samples
    rate: int
    channels: int
    path: Path
    wide: bool = False

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return self.samples.size / self.rate


def blocks(path: Path) -> Iterator[Block]:
    """The file in blocks of up to about three seconds.

    Raises ListeningError when the file is missing, damaged or of no known format.
    """
    if not path.is_file():
        raise ListeningError(f"there is no file {path}", "give the path of an audio file")
    if path.suffix.lower() in AV_SUFFIXES:
        yield from _av_blocks(path)
    else:
        yield from _sndfile_blocks(path)


def _sndfile_blocks(path: Path) -> Iterator[Block]:
    try:
        with hushed():
            opened = sf.SoundFile(path)
        with opened as file:
            frames = min(int(file.frames), LONGEST_HINT)
            while True:
                with hushed():
                    block = _read(file)
                if not len(block):
                    return
                yield Block(block, int(file.samplerate), frames)
    except (sf.LibsndfileError, RuntimeError, OSError) as error:
        raise ListeningError(
            f"{path.name} cannot be decoded ({_reason(error)})",
            "give an undamaged WAV, AIFF, FLAC, MP3, M4A, Ogg or Opus file",
        ) from error


def _read(file: sf.SoundFile) -> Samples:
    if file.subtype != "PCM_16":
        return np.asarray(file.read(BLOCK_FRAMES, dtype="float32", always_2d=True))
    # The same numbers, several times as fast.
    whole = file.read(BLOCK_FRAMES, dtype="int16", always_2d=True)
    return np.asarray(whole.astype(np.float32) * np.float32(2.0**-15))


def _reason(error: Exception) -> str:
    """The library's own words without the path and the full stop, on one line."""
    text = str(getattr(error, "error_string", "") or error)
    return " ".join(text.split()).rstrip(".").lower() or "damaged"


def _av_blocks(path: Path) -> Iterator[Block]:
    try:
        import av
    except ImportError as error:
        raise ListenExtraMissingError(
            f"{path.name} needs av to be decoded, which is not installed",
            f"get it with {HOW_TO_GET}",
        ) from error
    try:
        with av.open(str(path)) as container:
            if not container.streams.audio:
                raise ListeningError(f"{path.name} has no sound in it", "give an audio file")
            for frame in container.decode(audio=0):
                yield Block(_av_samples(frame), int(frame.sample_rate), 0)
    except (av.FFmpegError, OSError) as error:
        raise ListeningError(
            f"{path.name} cannot be decoded ({_reason(error)})", "give an undamaged audio file"
        ) from error


def _av_samples(frame: Any) -> Samples:
    """One decoded frame as frames x channels, full scale 1.0."""
    array = frame.to_ndarray()
    if not frame.format.is_planar:
        array = array.reshape(-1, frame.layout.nb_channels).T
    if array.dtype == np.uint8:
        return np.asarray((array.T - 128.0) / 128.0, dtype=np.float32)
    if np.issubdtype(array.dtype, np.integer):
        full = float(np.iinfo(array.dtype).max) + 1.0
        return np.asarray(array.T / full, dtype=np.float32)
    return np.asarray(array.T, dtype=np.float32)


class Mix(NamedTuple):
    """How loud a file's first and second channel are in the one that is listened to."""

    first: float
    second: float


LEFT, RIGHT, SIDE = Mix(1.0, 0.0), Mix(0.0, 1.0), Mix(0.5, -0.5)


def decode(path: Path, mix: Mix | None = None, shelf: Shelf | None = None) -> DecodedSound:
    """Decode a file to one channel: the mean of its channels, or a mix of its first two.

    Where the channels cancel (one of them has its polarity flipped) the first is taken alone. A
    mix of a file with one channel is that channel. shelf: where long sound is kept.
    Raises ListeningError for a missing, damaged or empty file, or one with values in it that
    are not numbers.
    """
    where = shelf or Shelf()
    sound, cancels = _decode(path, mix, where)
    return _decode(path, LEFT, where)[0] if cancels and mix is None else sound


def _decode(path: Path, mix: Mix | None, shelf: Shelf) -> tuple[DecodedSound, bool]:
    out: Pile | None = None
    rate = channels = 0
    energy_mean = 0.0
    pair = np.zeros((2, 2))
    for block, block_rate, frames in blocks(path):
        rate, channels = block_rate, block.shape[1]
        mean = block[:, 0]
        if channels > 1:
            rows = np.ascontiguousarray(block.T)
            one, other = rows[:2]
            product = np.vdot(one, other)
            pair += [[np.vdot(one, one), product], [product, np.vdot(other, other)]]
            mean = _gains(mix, channels) @ rows
        energy_mean += float(np.vdot(mean, mean))
        out = out or Pile(shelf, frames)
        out.add(mean)
    if out is None or not out.filled:
        raise ListeningError(f"{path.name} has no samples in it", "give a file with sound in it")
    if not np.isfinite(energy_mean):
        raise ListeningError(
            f"{path.name} holds samples that are not numbers", "give an undamaged file"
        )
    apart = float(pair[0, 0] * pair[1, 1] - pair[0, 1] ** 2)
    wide = apart > DIFFERENT * float(pair[0, 0] * pair[1, 1])
    sound = DecodedSound(samples=out.done(), rate=rate, channels=channels, path=path, wide=wide)
    return sound, energy_mean < CANCELLING * float(pair[0, 0])


def _gains(mix: Mix | None, channels: int) -> Samples:
    """The gain of every channel of a file."""
    if mix is None:
        return np.full(channels, 1.0 / channels, dtype=np.float32)
    gains = np.zeros(channels, dtype=np.float32)
    gains[:2] = mix
    return gains


def decode_channels(path: Path) -> tuple[Samples, int]:
    """Decode a file whole, frames x channels, with its sample rate."""
    parts = list(blocks(path))
    if not parts:
        raise ListeningError(f"{path.name} has no samples in it", "give a file with sound in it")
    return np.concatenate([part.samples for part in parts]), parts[0].rate
