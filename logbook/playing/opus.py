"""Sound written small, as browsers play it: Opus in WebM (RFC 6716, RFC 7845)."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook.listening.extra import HOW_TO_GET, ListenExtraMissingError, ListeningError

SUFFIX = ".webm"
RATE_HZ = 48_000  # Opus knows no other
BITS_A_SECOND = {1: 80_000, 2: 128_000}
_BLOCK = RATE_HZ  # a second at a time


def size_of(seconds: float, channels: int) -> int:
    """About how many bytes so many seconds of sound come to."""
    return int(seconds * BITS_A_SECOND[min(max(channels, 1), 2)] / 8) + 1_000


def write_opus(path: Path, frames: NDArray[Any], rate_hz: int) -> None:
    """Write frames by channels (full scale 1.0) to a file that is there as a whole or not at all.

    The first frame is the file's time 0. Of more than two channels the mean is written.
    Raises ListenExtraMissingError without av, ListeningError where it cannot be written.
    """
    try:
        import av
    except ImportError as error:
        raise ListenExtraMissingError(
            "recordings cannot be put beside a page without av, which is not installed",
            f"get it with {HOW_TO_GET}",
        ) from error
    if frames.ndim == 1:
        frames = frames[:, None]
    if frames.shape[1] > 2:
        frames = frames.mean(axis=1, keepdims=True)
    channels = frames.shape[1]
    layout = "mono" if channels == 1 else "stereo"
    waiting = path.with_name(f".{path.name}.{os.getpid()}.new")
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with av.open(str(waiting), "w", format="webm") as container:
            stream: Any = container.add_stream("libopus", rate=RATE_HZ)
            stream.bit_rate = BITS_A_SECOND[channels]
            stream.layout = layout
            resampler = av.AudioResampler(format="s16", layout=layout, rate=RATE_HZ)
            for frame in _blocks(av, frames, rate_hz, layout):
                for ready in resampler.resample(frame):
                    container.mux(stream.encode(ready))
            for ready in resampler.resample(None):
                container.mux(stream.encode(ready))
            container.mux(stream.encode(None))
        waiting.replace(path)
    except (av.FFmpegError, OSError, ValueError) as error:
        raise ListeningError(
            f"{path.name} cannot be written ({error})", "see that the folder can be written to"
        ) from error
    finally:
        waiting.unlink(missing_ok=True)


def _blocks(av: Any, frames: NDArray[Any], rate_hz: int, layout: str) -> Iterator[Any]:
    for start in range(0, len(frames), _BLOCK):
        some = np.clip(frames[start : start + _BLOCK], -1.0, 1.0)
        whole = np.ascontiguousarray((some * 32767.0).round().astype("<i2"))
        block = av.AudioFrame.from_ndarray(whole.reshape(1, -1), format="s16", layout=layout)
        block.sample_rate = rate_hz
        block.pts = start
        yield block
