"""Files of the log that are one recording in two lossless forms: a FLAC and the WAV it was made of.

Their digests differ, since the bytes do. Only files of as many frames, the one FLAC and the other
not, are held against each other, and each is read at most once.
"""

from __future__ import annotations

from collections.abc import Iterable

from logbook.audio.samples import samples_digest
from logbook.importing.file_index import FileEntry

_FORMS = frozenset(("FLAC", "PCM"))
_MOST = 16


class Recordings:
    """The log's lossless files by their length, to find a file's twin in the other form."""

    def __init__(self, entries: Iterable[FileEntry]) -> None:
        self._by_frames: dict[int, list[FileEntry]] = {}
        self._digests: dict[str, str] = {}
        for entry in entries:
            self.add(entry)

    def add(self, entry: FileEntry) -> None:
        """Take in a file."""
        if entry.codec in _FORMS and entry.frames:
            self._by_frames.setdefault(entry.frames, []).append(entry)

    def twins(self, entry: FileEntry) -> list[FileEntry]:
        """The files that hold the same samples as this one in the other form."""
        if entry.codec not in _FORMS or not entry.frames:
            return []
        others = [
            each
            for each in self._by_frames.get(entry.frames, ())
            if each.codec != entry.codec and each is not entry and each.place
        ][:_MOST]
        if not others:
            return []
        own = self._digest(entry.place)
        return [each for each in others if own and self._digest(each.place) == own]

    def _digest(self, place: str) -> str:
        if place not in self._digests:
            self._digests[place] = samples_digest(place)
        return self._digests[place]
