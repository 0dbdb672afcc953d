"""The log's files by place and by sound: which file is which, and where each of them now lies.

Conventions. A place is an absolute path with forward slashes: a file's folder and its path
inside it. A file of the log has left its place when nothing lies there any more, or something
with another sound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from logbook.audio.errors import AudioError
from logbook.audio.reading import audio_digest
from logbook.audio.scanning import KnownFile, stat_known
from logbook.store.file_rows import FileLine

MISPLACED = " (written over)"


@dataclass(kw_only=True, slots=True, eq=False)
class FileEntry:
    """A file of the log; without a digest it is only mentioned there and was never read.

    It hangs on at most one of a take, a part and a version. `left` says whether it has left its
    place, None while nobody looked. `id` is None until the log has it.
    """

    folder: str
    path: str
    digest: str = ""
    size: int | None = None
    modified: int | None = None
    chunks: bool = False
    take_id: int | None = None
    part_id: int | None = None
    version_id: int | None = None
    codec: str = ""
    frames: int | None = None
    shared: str = ""
    rate_hz: int | None = None
    id: int | None = None
    left: bool | None = None

    @property
    def place(self) -> str:
        """Where it lies; empty where the log does not say in which folder."""
        return f"{self.folder.rstrip('/')}/{self.path}" if self.folder else ""

    @property
    def hangs(self) -> bool:
        """Whether it hangs on anything, or is said to be of something."""
        return bool(self.shared or self.take_id or self.part_id or self.version_id)

    @property
    def known(self) -> KnownFile | None:
        """Size and modification time as the log has them, None for a file only mentioned."""
        if not self.digest or self.size is None or self.modified is None:
            return None
        return KnownFile(self.size, self.modified)


def entry_of(line: FileLine) -> FileEntry:
    """Return a row of the outline as an entry."""
    return FileEntry(**line._asdict())


class FileIndex:
    """All files of a log, found by place and by digest."""

    def __init__(self, lines: Iterable[FileLine]) -> None:
        self.entries = [entry_of(line) for line in lines]
        self.by_place: dict[str, FileEntry] = {}
        self.by_digest: dict[str, list[FileEntry]] = {}
        # Those of a digest that may have left their places; looked at once.
        self._may_have_left: dict[str, list[FileEntry]] = {}
        self._mentioned: dict[str, list[FileEntry]] = {}
        for entry in self.entries:
            self._enter(entry)

    def _enter(self, entry: FileEntry) -> None:
        if entry.place:
            self.by_place[entry.place] = entry
        if entry.digest:
            self.by_digest.setdefault(entry.digest, []).append(entry)
            self._may_have_left.setdefault(entry.digest, []).append(entry)
        else:
            self._mentioned.setdefault(entry.path, []).append(entry)

    def inside(self, root: str) -> dict[str, FileEntry]:
        """The log's files below the folder `root`, by their names inside it."""
        start = f"{root.rstrip('/')}/"
        return {
            place[len(start) :]: entry
            for place, entry in self.by_place.items()
            if place.startswith(start)
        }

    def add(self, entry: FileEntry) -> None:
        """Take in a file that was just read; it is at its place."""
        entry.left = False
        self.entries.append(entry)
        self._enter(entry)

    def that_left(self, digest: str, name: str) -> FileEntry | None:
        """A file of this sound that has left its place, None where all are still there.

        Of several the one is meant that was called as `name` is, else the one known longest.
        """
        waiting = self._may_have_left.get(digest, [])
        waiting[:] = [entry for entry in waiting if has_left(entry)]
        return closest(waiting, name) if waiting else None

    def mentioned(self, name: str, digest: str) -> list[FileEntry]:
        """Files of the log that are only mentioned, by this path, and may have this sound.

        One that lies at its place is only meant if its sound is the same.
        """
        return [
            entry
            for entry in self._mentioned.get(name, ())
            if not entry.digest and (not _is_there(entry) or digest_at(entry.place) == digest)
        ]

    def move(self, entry: FileEntry, folder: str, path: str) -> None:
        """Put a file at another place, where it now lies."""
        if self.by_place.get(entry.place) is entry:
            del self.by_place[entry.place]
        entry.folder, entry.path = folder, path
        self.by_place[entry.place] = entry

    def put_aside(self, entry: FileEntry) -> None:
        """Give a file whose place was taken by another a name that says so."""
        path = entry.path + MISPLACED
        number = 2
        while f"{entry.folder.rstrip('/')}/{path}" in self.by_place:
            path = f"{entry.path}{MISPLACED[:-1]} {number})"
            number += 1
        self.move(entry, entry.folder, path)
        entry.left = True

    def learn(self, entry: FileEntry, digest: str, size: int, modified: int) -> None:
        """Take in what was read of a file at its place."""
        if entry.digest != digest:
            for table in (self.by_digest, self._may_have_left):
                if entry in table.get(entry.digest, ()):
                    table[entry.digest].remove(entry)
            entry.digest = digest
            self.by_digest.setdefault(digest, []).append(entry)
        entry.size, entry.modified, entry.left = size, modified, False


def closest(entries: Sequence[FileEntry], name: str) -> FileEntry:
    """Of several files with the same sound, the one of the same name, else the first."""
    last = name.rpartition("/")[2]
    return next((e for e in entries if e.path.rpartition("/")[2] == last), entries[0])


def has_left(entry: FileEntry) -> bool:
    """Tell whether a file of the log is not at its place any more; its sound decides."""
    if entry.left is None:
        found = stat_known(Path(entry.place)) if entry.place else None
        if found is None:
            entry.left = True
        elif found == entry.known:
            entry.left = False
        else:
            entry.left = digest_at(entry.place) != entry.digest
    return entry.left


def _is_there(entry: FileEntry) -> bool:
    return bool(entry.place) and stat_known(Path(entry.place)) is not None


def digest_at(place: str) -> str:
    """The digest of the sound at a place; empty where there is none to be read."""
    try:
        return audio_digest(Path(place))
    except AudioError:
        return ""
