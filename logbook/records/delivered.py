"""Deliverables against what is asked for and against the files themselves.

What a file says of itself comes from whoever has looked: from the log, or from the disk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from logbook.records.deliverables import USUAL_KINDS, VOICE_KINDS, Deliverable
from logbook.records.files import AudioFile
from logbook.records.log import Log
from logbook.records.lyric_lines import is_sung
from logbook.records.songs import Song, Version


class SeenFile(NamedTuple):
    """What a deliverable's file says: `rate_hz` and `depth_bits` are None where it does not.

    `state` is "there", "missing", "unreadable" with `why`, or "unknown" where nobody could look.
    """

    state: str
    rate_hz: int | None = None
    depth_bits: int | None = None
    why: str = ""


Look = Callable[[str], SeenFile]
"""Says what is known of the file at a path."""

UNKNOWN = SeenFile("unknown")


def name_of(path: str) -> str:
    """Return a file's own name."""
    return path.replace("\\", "/").rpartition("/")[2]


def look_in_log(log: Log, version: Version) -> Look:
    """Return a look at what the log has read of files; only those that were read count."""
    files = [*log.files, *version.files]
    for part in version.parts:
        files += [*part.files, *(file for take in part.takes for file in take.files)]

    def look(path: str) -> SeenFile:
        found = next((each for each in files if _is_at(each, path)), None)
        if found is None or found.rate_hz is None:
            return UNKNOWN
        return SeenFile("there", found.rate_hz, found.depth_bits)

    return look


def _is_at(file: AudioFile, path: str) -> bool:
    place = f"{file.folder.rstrip('/')}/{file.path}" if file.folder else file.path
    return path in (place, file.path)


def missing_kinds(version: Version) -> tuple[str, ...]:
    """Return the usual deliverables of which nothing is said.

    Where parts are logged and nobody sings on any of them, what needs a singer is not asked for.
    """
    said = {each.kind for each in version.deliverables}
    voices = [part for part in version.parts if is_sung(part.name, part.instrument)]
    silent = bool(version.parts) and not voices
    return tuple(
        kind for kind in USUAL_KINDS if kind not in said and not (silent and kind in VOICE_KINDS)
    )


def faults_of(each: Deliverable, look: Look) -> Iterator[str]:
    """Yield what contradicts a deliverable, in a sentence each."""
    if each.status in ("ready", "delivered") and not each.files:
        yield f"it is {each.status}, and no file is named"
    if each.delivered_on and each.status not in ("delivered", "not wanted"):
        yield f"it went out on {each.delivered_on}, and its status is {each.status}"
    for path in each.files:
        seen = look(path)
        name = name_of(path)
        if seen.state == "missing" and each.status in ("ready", "delivered"):
            yield f"{name} is not there"
        if seen.state == "unreadable":
            yield f"{name} cannot be read: {seen.why}"
        if seen.rate_hz and each.rate_hz and seen.rate_hz != each.rate_hz:
            yield f"{name} is at {seen.rate_hz} Hz, and {each.rate_hz} Hz is asked for"
        if seen.depth_bits and each.depth_bits and seen.depth_bits != each.depth_bits:
            yield f"{name} has {seen.depth_bits} bits, and {each.depth_bits} are asked for"


def shared_files(song: Song) -> Iterator[tuple[str, str, str]]:
    """Yield files that stand for two deliverables of a song: the path, and both by name."""
    seen: dict[str, str] = {}
    for version in song.versions:
        for each in version.deliverables:
            own = f"{version.name}, {each.kind}" + (f", mix {each.mix}" if each.mix else "")
            for path in each.files:
                if path in seen:
                    yield path, seen[path], own
                seen.setdefault(path, own)
