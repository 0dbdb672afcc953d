"""Files that belong to more than what they hang on: a room microphone, a whole band, a whole day.

A file names what it is of besides (`AudioFile.also`). What such a name leaves empty is as the
file's own place has it: a room microphone of take 3 of the drums that is also of the bass is of
take 3 of the bass, in the same session.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from logbook.names import alike
from logbook.records.files import AudioFile
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.songs import Song, Version


class SharedFile(NamedTuple):
    """What a file is of, by names; `take` is empty for a finished part, `part` for a session.

    `microphone` is which of its lines or channels are of that; empty for what the file itself says.
    """

    song: str = ""
    version: str = ""
    part: str = ""
    take: str = ""
    session: str = ""
    microphone: str = ""


def files_with_places(log: Log) -> Iterator[tuple[SharedFile, AudioFile]]:
    """Yield every file of a log with what it hangs on (empty for nothing)."""
    for file in log.files:
        yield SharedFile(), file
    for song in log.songs:
        for version in song.versions:
            yield from files_of_version(song, version)


def files_of_version(song: Song, version: Version) -> Iterator[tuple[SharedFile, AudioFile]]:
    """Yield every file that hangs on a version or on anything in it, with its place."""
    own = SharedFile(song.title, version.name)
    for file in version.files:
        yield own, file
    for part in version.parts:
        for file in part.files:
            yield own._replace(part=part.name), file
        for take in part.takes:
            at = own._replace(part=part.name, take=str(take.number), session=take.session)
            for file in take.files:
                yield at, file


def also_of(own: SharedFile, file: AudioFile) -> list[SharedFile]:
    """Return what a file that hangs at `own` is of besides, with what its names leave empty."""
    found = []
    for entry in (SharedFile(*each) for each in file.also):
        if entry.part:
            entry = entry._replace(song=entry.song or own.song)
            if not entry.version and alike(entry.song, own.song):
                entry = entry._replace(version=own.version)
            same = entry.take in ("", own.take)
            session = entry.session or (own.session if same else "")
            entry = entry._replace(take=entry.take or own.take, session=session)
        found.append(entry)
    return found


def shared_files_of(log: Log) -> tuple[tuple[SharedFile, AudioFile], ...]:
    """Return every file that is of more than what it hangs on, once for each other thing."""
    return tuple(
        (entry, file)
        for own, file in files_with_places(log)
        if file.also
        for entry in also_of(own, file)
    )


def is_of(entry: SharedFile, song: Song, version: Version, part: Part) -> bool:
    """Whether a name means this part; a song's only version need not be named."""
    return (
        alike(entry.part, part.name)
        and alike(entry.song, song.title)
        and (alike(entry.version, version.name) or (not entry.version and len(song.versions) == 1))
    )


def with_shared(log: Log, song: Song, version: Version, part: Part) -> Part:
    """Return a part whose takes, and it itself, hold the files of others that are of them too."""
    found = [each for each in log.shared_files if is_of(each[0], song, version, part)]
    if not found:
        return part
    takes = []
    for take in part.takes:
        alone = sum(each.number == take.number for each in part.takes) == 1
        more = [
            _as_said(entry, file)
            for entry, file in found
            if entry.take == str(take.number)
            and (entry.session == take.session or (alone and not (entry.session and take.session)))
        ]
        takes.append(replace(take, files=_joined(take.files, more)))
    finished = [_as_said(entry, file) for entry, file in found if not entry.take]
    return replace(part, takes=tuple(takes), files=_joined(part.files, finished))


def _as_said(entry: SharedFile, file: AudioFile) -> AudioFile:
    """A file as what it is of besides sees it: by the lines that are of that."""
    return replace(file, microphone=entry.microphone) if entry.microphone else file


def _joined(own: tuple[AudioFile, ...], more: list[AudioFile]) -> tuple[AudioFile, ...]:
    places = {(file.folder, file.path) for file in own}
    return (*own, *(file for file in more if (file.folder, file.path) not in places))
