"""Walking a folder for audio files, reading only what is new or changed.

A link to a file is read as that file; one to a file of the same folder is passed over, since that
is found by itself. Links to folders are never followed, and one that leads out of the folder is
said. Hidden files and folders (a name that begins with a full stop) are not looked at.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import AudioInfo
from logbook.audio.reading import read_audio

AUDIO_SUFFIXES = frozenset(
    {".wav", ".wave", ".bwf", ".rf64", ".bw64", ".aif", ".aiff", ".aifc", ".flac", ".mp3"}
    | {".m4a", ".mp4", ".m4b", ".ogg", ".oga", ".opus"}
    | {".caf", ".w64", ".wv", ".aac", ".mkv", ".mka", ".webm", ".avi", ".mov"}
    | {".wma", ".ape", ".amr", ".au", ".mpc", ".dsf", ".dff", ".tta"}
)
"""What files of sound are usually called, read or not; only used to word and sort."""


class KnownFile(NamedTuple):
    """What the log remembers of a file so that it need not be read again."""

    size_bytes: int
    modified_ns: int


class FoundFile(NamedTuple):
    """A file found in the folder: `name` is its place inside it, with forward slashes."""

    name: str
    path: str
    size_bytes: int
    modified_ns: int


@dataclass(frozen=True, slots=True)
class Fresh:
    """A file that is new or changed, and was read."""

    name: str
    info: AudioInfo


class Unchanged(NamedTuple):
    """A known file of the same size and modification time; it was not read."""

    name: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that could not be used, and why, in a sentence without the path.

    `called_audio` says whether its name claims that it is an audio file.
    """

    name: str
    reason: Reason
    why: str
    called_audio: bool


Found = Fresh | Unchanged | Refused


class Progress(NamedTuple):
    """How far a scan is, in files and in bytes of their size."""

    files_done: int
    files_total: int
    bytes_done: int
    bytes_total: int


def list_folder(folder: Path) -> tuple[list[FoundFile], list[Refused]]:
    """All regular files under `folder` in order of name, and what cannot be a file to read.

    Raises `AudioError` when `folder` is not a folder that can be read.
    """
    root = os.path.realpath(folder)
    candidates: list[FoundFile] = []
    refused: list[Refused] = []
    waiting = [""]
    while waiting:
        inside = waiting.pop()
        try:
            with os.scandir(os.path.join(root, inside)) as entries:
                for entry in entries:
                    if not entry.name.startswith("."):
                        _sort(entry, inside + entry.name, root, waiting, candidates, refused)
        except OSError as error:
            why = f"the folder cannot be read: {error.strerror or error}"
            if not inside:
                raise AudioError(folder, Reason.UNREADABLE, why) from None
            refused.append(_refusal(inside.rstrip("/"), Reason.UNREADABLE, why))
    candidates.sort()
    refused.sort(key=lambda refusal: refusal.name)
    return candidates, refused


def _sort(
    entry: os.DirEntry[str],
    name: str,
    root: str,
    waiting: list[str],
    candidates: list[FoundFile],
    refused: list[Refused],
) -> None:
    """Puts one entry of a folder where it belongs."""
    if not name.isascii() and not _is_text(name):
        shown = name.encode("utf-8", "backslashreplace").decode("utf-8")
        why = "its name is not UTF-8; rename it"
        refused.append(_refusal(shown, Reason.UNREADABLE, why))
    elif entry.is_symlink():
        _sort_link(entry.path, name, root, candidates, refused)
    elif entry.is_dir(follow_symlinks=False):
        waiting.append(name + "/")
    elif entry.is_file(follow_symlinks=False):
        status = entry.stat(follow_symlinks=False)
        candidates.append(FoundFile(name, entry.path, status.st_size, status.st_mtime_ns))
    else:
        refused.append(_refusal(name, Reason.UNREADABLE, "not a regular file"))


def _is_text(name: str) -> bool:
    """Whether the name's bytes are UTF-8; Python keeps others as halves of characters."""
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _sort_link(
    path: str, name: str, root: str, candidates: list[FoundFile], refused: list[Refused]
) -> None:
    """A link to a file out of the folder is that file; one inside it is found by itself."""
    target = os.path.realpath(path)
    inside = os.path.commonpath((root, target)) == root
    try:
        status = os.stat(target)
    except OSError:
        refused.append(_refusal(name, Reason.UNREADABLE, "a link to nothing"))
        return
    if stat.S_ISDIR(status.st_mode):
        if not inside:
            why = "a link out of the folder; links to folders are not followed"
            refused.append(_refusal(name, Reason.UNREADABLE, why))
    elif not stat.S_ISREG(status.st_mode):
        refused.append(_refusal(name, Reason.UNREADABLE, "not a regular file"))
    elif not inside:
        candidates.append(FoundFile(name, path, status.st_size, status.st_mtime_ns))


def _refusal(name: str, reason: Reason, why: str) -> Refused:
    return Refused(name, reason, why, os.path.splitext(name)[1].lower() in AUDIO_SUFFIXES)


def scan(
    folder: Path,
    known: Mapping[str, KnownFile],
    *,
    digest: bool = True,
    on_progress: Callable[[Progress], None] | None = None,
    is_home: Callable[[str], bool] = lambda name: False,
) -> Iterator[Found]:
    """Every file under `folder`: read when new or changed, otherwise only named.

    `known` has what the log remembers, by name inside the folder. `on_progress` is called after
    every file and, within a long one, after every few megabytes. Results come as they are known,
    so that a scan can be broken off and taken up again; `is_home` is as in `originals_first`.
    Raises `AudioError` for the folder only.
    """
    candidates, refused = list_folder(folder)
    candidates = originals_first(candidates, known, is_home)
    yield from refused
    total = sum(candidate.size_bytes for candidate in candidates)
    done = 0
    for index, candidate in enumerate(candidates):
        if _same(known.get(candidate.name), candidate):
            yield Unchanged(candidate.name)
        else:
            report = progress_within(on_progress, index, len(candidates), done, total)
            yield _read(candidate, digest=digest, on_bytes=report)
        done += candidate.size_bytes
        if on_progress:
            on_progress(Progress(index + 1, len(candidates), done, total))


_PACKED = (".flac", ".wv", ".m4a", ".mp3", ".ogg", ".opus", ".aac")
_SPARE = re.compile(
    r"(?<![a-z])(backups?|copy|copies|safety|safeties|spare|duplicates?|dup|old|archives?|bak)"
    r"(?![a-z])|\(\d+\)\.\w+$",
    re.IGNORECASE,
)


def originals_first(
    candidates: Sequence[FoundFile],
    known: Mapping[str, KnownFile] = MappingProxyType({}),
    is_home: Callable[[str], bool] = lambda name: False,
) -> list[FoundFile]:
    """The same files, ordered so that of several with one sound the original is read first.

    Behind all others come files whose folder or name says that they are copies, and before them
    those of a packed form, which may have been made from one that is not. Only files of
    one size can be copies of each other, so only these change places among themselves: first one
    in a folder that `is_home` (a session's own), then the one nearest the folder that is read,
    then one beside files that are known, then one in the folder that was written first. All others
    keep their order, and so do files of one folder.
    """
    spare = {each.name for each in candidates if _SPARE.search(each.name)}
    ordered = sorted(candidates, key=lambda each: (each.name in spare, _is_packed(each.name)))
    known_folders = {name.rpartition("/")[0] for name in known}

    def rank(each: FoundFile) -> tuple[bool, bool, int, bool, int, str]:
        folder = each.name.rpartition("/")[0]
        return (
            each.name in spare,
            not is_home(folder),
            each.name.count("/"),
            folder not in known_folders,
            written[folder, each.size_bytes],
            each.name,
        )

    written: dict[tuple[str, int], int] = {}
    for each in ordered:
        key = (each.name.rpartition("/")[0], each.size_bytes)
        written[key] = min(each.modified_ns, written.get(key, each.modified_ns))
    places: dict[int, list[int]] = {}
    for at, each in enumerate(ordered):
        if each.name not in known:
            places.setdefault(each.size_bytes, []).append(at)
    for slots in places.values():
        if len(slots) > 1:
            ranked = sorted((ordered[at] for at in slots), key=rank)
            for at, each in zip(slots, ranked, strict=True):
                ordered[at] = each
    return ordered


def _is_packed(name: str) -> bool:
    return name.lower().endswith(_PACKED)


def _same(known: KnownFile | None, candidate: FoundFile) -> bool:
    return known is not None and known == (candidate.size_bytes, candidate.modified_ns)


def progress_within(
    on_progress: Callable[[Progress], None] | None, index: int, files: int, done: int, total: int
) -> Callable[[int], None] | None:
    """A callback that turns bytes read of one file into progress of the whole."""
    if on_progress is None:
        return None
    step, read, reported = 8 << 20, 0, 0

    def report(count: int) -> None:
        nonlocal read, reported
        read += count
        if read - reported >= step:
            reported = read
            on_progress(Progress(index, files, min(done + read, total), total))

    return report


def _read(
    candidate: FoundFile, *, digest: bool, on_bytes: Callable[[int], None] | None
) -> Fresh | Refused:
    try:
        info = read_audio(Path(candidate.path), digest=digest, on_bytes=on_bytes)
    except AudioError as error:
        return _refusal(candidate.name, error.reason, str(error))
    return Fresh(candidate.name, info)


def stat_known(path: Path) -> KnownFile | None:
    """Size and modification time of the regular file at `path` as it is now, None without one."""
    try:
        status = os.stat(path)
    except (OSError, ValueError):
        return None
    return KnownFile(status.st_size, status.st_mtime_ns) if stat.S_ISREG(status.st_mode) else None
