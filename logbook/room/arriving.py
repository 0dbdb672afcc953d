"""The recorder's folder: which files have stopped growing, and which were there before.

Conventions. `look` is given the moment (seconds, any clock that only goes forward) and says which
files are whole now: of the same size and modification time for `QUIET_S` seconds, and not empty.
A file is told once. What was in the folder when the room was opened is not told but offered.
Hidden files, links and what is called nothing like sound are not looked at.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from logbook.audio.scanning import AUDIO_SUFFIXES

QUIET_S = 1.5
"""How long a file must have kept its size to be whole, in seconds."""


@dataclass(slots=True)
class _Seen:
    size: int
    modified: int
    since: float
    first: float


@dataclass(slots=True)
class Arrivals:
    """One folder that is watched, with everything in it that was seen so far."""

    folder: Path
    told: set[Path] = field(default_factory=set)
    _seen: dict[Path, _Seen] = field(default_factory=dict)
    _before: list[Path] = field(default_factory=list)

    def open(self, known: set[Path]) -> list[Path]:
        """Take in what is there; give the files that the log does not know, oldest first."""
        there = sorted(self._files(), key=lambda each: (each[1].st_mtime_ns, each[0]))
        self._before = [path for path, _ in there if path not in known]
        self.told.update(path for path, _ in there)
        return list(self._before)

    def look(self, now: float) -> list[Path]:
        """The files that have become whole since the last look, in the order they were begun."""
        whole = []
        for path, status in self._files():
            if path in self.told:
                continue
            seen = self._seen.get(path)
            if seen is None:
                self._seen[path] = _Seen(status.st_size, status.st_mtime_ns, now, now)
            elif (seen.size, seen.modified) != (status.st_size, status.st_mtime_ns):
                seen.size, seen.modified, seen.since = status.st_size, status.st_mtime_ns, now
            elif status.st_size and now - seen.since >= QUIET_S:
                whole.append(path)
        whole.sort(key=lambda path: (self._seen[path].first, path))
        for path in whole:
            del self._seen[path]
        self.told.update(whole)
        return whole

    def growing(self) -> tuple[Path, float] | None:
        """The file that is being written and the moment it was first seen, None without one."""
        if not self._seen:
            return None
        path = max(self._seen, key=lambda each: self._seen[each].first)
        return path, self._seen[path].first

    def _files(self) -> Iterator[tuple[Path, os.stat_result]]:
        waiting = [self.folder]
        while waiting:
            try:
                with os.scandir(waiting.pop()) as entries:
                    for entry in entries:
                        if entry.name.startswith(".") or entry.is_symlink():
                            continue
                        if entry.is_dir():
                            waiting.append(Path(entry.path))
                        elif Path(entry.name).suffix.lower() in AUDIO_SUFFIXES:
                            yield Path(entry.path), entry.stat()
            except OSError:
                continue  # a folder that goes while it is looked at comes again, or does not
