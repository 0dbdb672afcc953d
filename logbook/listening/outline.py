"""The outline of a stretch of sound, for a picture: how loud it is from left to right.

Only the stretch is decoded, and that in blocks, so that a comp of a long take costs as much time as
the song is long and next to no memory.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile as sf

from logbook.listening.decoding import AV_SUFFIXES, BLOCK_FRAMES, blocks
from logbook.listening.extra import ListeningError
from logbook.listening.quiet_decoding import hushed


def outline(path: Path, start_s: float, end_s: float, steps: int) -> tuple[float, ...]:
    """Return the largest sample of each of `steps` equal parts of a stretch, full scale 1.0.

    `start_s` and `end_s` are seconds from the beginning of the file; where it has no sound the
    outline is 0. Raises ListeningError where the file is missing or cannot be decoded.
    """
    peaks = np.zeros(max(steps, 1))
    if end_s <= start_s:
        return tuple(peaks.tolist())
    for at_s, samples, rate in _stretch(path, start_s, end_s):
        seconds = at_s + np.arange(samples.size) / rate
        places = np.floor((seconds - start_s) / (end_s - start_s) * peaks.size).astype(np.intp)
        inside = (places >= 0) & (places < peaks.size)
        np.maximum.at(peaks, places[inside], samples[inside])
    return tuple(float(min(each, 1.0)) for each in peaks)


def _stretch(
    path: Path, start_s: float, end_s: float
) -> list[tuple[float, np.ndarray[tuple[int], np.dtype[np.float32]], int]]:
    """Where pieces of the stretch begin, the larger of their channels, and the rate."""
    found = []
    if path.suffix.lower() in AV_SUFFIXES or not path.is_file():
        at = 0
        for block in blocks(path):
            seconds = at / block.rate
            at += len(block.samples)
            if seconds >= end_s:
                break
            if at / block.rate > start_s:
                found.append((seconds, np.abs(block.samples).max(axis=1), block.rate))
        return found
    try:
        with hushed(), sf.SoundFile(path) as file:
            rate = int(file.samplerate)
            first, last = max(int(start_s * rate), 0), min(int(end_s * rate) + 1, file.frames)
            if first >= last:
                return []
            file.seek(first)
            while first < last:
                samples = file.read(min(BLOCK_FRAMES, last - first), "float32", always_2d=True)
                if not len(samples):
                    break
                found.append((first / rate, np.abs(samples).max(axis=1), rate))
                first += len(samples)
    except (sf.LibsndfileError, RuntimeError, OSError) as error:
        raise ListeningError(
            f"{path.name} cannot be decoded", "give an undamaged audio file"
        ) from error
    return found
