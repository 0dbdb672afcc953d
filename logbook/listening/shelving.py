"""Sound too long for memory: kept in files without a name, and read where it is looked at.

What is on the shelf is an ordinary array whose samples lie in a file; the pages that were read are
given back after every step (`let_go`), so what is held at once does not grow with the length.
"""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import IO

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float32]

# Samples of all files together, at their own rates, that are held in memory: 270 MB.
MOST_HELD = 1 << 26
PACKED = 6  # frames a byte of a compressed file may hold, at the most likely
STEP = 1 << 20


class Shelf:
    """Where long sound is kept, or (not `on`) where nothing is done and all stays in memory."""

    def __init__(self, *, on: bool = False) -> None:
        self.on = on
        self._maps: list[mmap.mmap] = []

    def keep(self, samples: Samples) -> Samples:
        """The same samples, on the shelf if it is on."""
        if not self.on or samples.size == 0:
            return samples
        pile = Pile(self)
        for at in range(0, samples.size, STEP):
            pile.add(samples[at : at + STEP])
        return pile.done()

    def let_go(self) -> None:
        """Give back the memory of what was read; reading it again brings it back."""
        if hasattr(mmap, "MADV_DONTNEED"):
            for each in tuple(self._maps):
                each.madvise(mmap.MADV_DONTNEED)

    def _mapped(self, file: IO[bytes]) -> Samples:
        mapped = mmap.mmap(file.fileno(), 0)
        self._maps.append(mapped)
        return np.frombuffer(mapped, dtype=np.float32)


class Pile:
    """Samples that come block by block, in memory or on a shelf. `hint`: how many are expected."""

    def __init__(self, shelf: Shelf, hint: int = 0) -> None:
        self._shelf = shelf
        # Closed in `done`; it has no name, so nothing is left of it even if that is never reached.
        self._file = tempfile.TemporaryFile() if shelf.on else None  # noqa: SIM115
        self._held = np.empty(0 if shelf.on else hint, dtype=np.float32)
        self.filled = 0

    def add(self, block: Samples) -> None:
        """Put a block after what is there."""
        needed = self.filled + block.size
        if self._file is not None:
            self._file.write(np.ascontiguousarray(block, dtype=np.float32).data)
        else:
            if needed > self._held.size:
                grown = np.empty(max(needed, self._held.size * 3 // 2), dtype=np.float32)
                grown[: self.filled] = self._held[: self.filled]
                self._held = grown
            self._held[self.filled : needed] = block
        self.filled = needed

    def done(self) -> Samples:
        """What was put in, whole."""
        if self._file is None:
            return self._held[: self.filled]
        with self._file as file:
            file.flush()
            return self._shelf._mapped(file) if self.filled else self._held


def shelf_for(paths: Sequence[Path]) -> Shelf:
    """A shelf that is on where files are too long together to be held in memory."""
    return Shelf(on=sum(_frames(path) for path in paths) > MOST_HELD)


def _frames(path: Path) -> int:
    """How many frames a file has, from its header; a guess on the large side without one."""
    import soundfile as sf

    from logbook.listening.quiet_decoding import hushed

    try:
        with hushed():
            return int(sf.info(str(path)).frames)
    except (sf.LibsndfileError, RuntimeError, OSError):
        return PACKED * path.stat().st_size if path.is_file() else 0
