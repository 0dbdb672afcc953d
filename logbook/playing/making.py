"""Making the files of sounds: read or joined, written once, found again by their keys."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

import numpy as np

from logbook.errors import LogbookError
from logbook.listening.decoding import blocks, decode_channels
from logbook.playing.comps import Frames, join_clips
from logbook.playing.opus import RATE_HZ, SUFFIX, write_opus
from logbook.playing.recordings import COMP, Sound
from logbook.records.part_view import PartView


class Wish(NamedTuple):
    """A sound that a page wants, and the part it is of."""

    sound: Sound
    place: PartView


class AudioSizes(NamedTuple):
    """What is to be put beside the pages: how many sounds, how long, and how many bytes about.

    `there` of them are there already, and are not made again.
    """

    sounds: int
    seconds: float
    bytes_about: int
    there: int


def file_of(sound: Sound) -> str:
    """The name of a sound's file."""
    return f"{sound.key}{SUFFIX}"


def sizes_of(wishes: Iterable[Wish], folder: Path) -> AudioSizes:
    """Return how much the sounds of these wishes come to, each counted once."""
    sounds = {wish.sound.key: wish.sound for wish in wishes}
    total, there = 0, 0
    for sound in sounds.values():
        file = folder / file_of(sound)
        if file.is_file():
            there += 1
            total += file.stat().st_size
        else:
            total += sound.bytes_about
    return AudioSizes(len(sounds), sum(each.seconds for each in sounds.values()), total, there)


def make_sound(wish: Wish, folder: Path) -> bool:
    """Write a sound's file to a folder; return False where it already exists.

    Raises LogbookError where it cannot be read or written.
    """
    file = folder / file_of(wish.sound)
    if file.is_file():
        return False
    frames, rate_hz = _frames(wish)
    write_opus(file, frames, rate_hz)
    return True


def _frames(wish: Wish) -> tuple[Frames, int]:
    sound = wish.sound
    if sound.kind == COMP:
        return join_clips(sound.clips, decode_channels, RATE_HZ), RATE_HZ
    (path,) = sound.files
    return _read(Path(path))


def _read(path: Path) -> tuple[Frames, int]:
    """A file in at most two channels; of more the mean."""
    parts, rate = [], 0
    for block in blocks(path):
        rate = block.rate
        some = block.samples
        parts.append(some if some.shape[1] <= 2 else some.mean(axis=1, keepdims=True))
    if not parts:
        raise LogbookError(f"{path.name} has no samples in it", "give a file with sound in it")
    return np.concatenate(parts), rate
