"""Writing tags into audio files so that no file is ever broken and no sound ever changed.

The new file is made beside the old one, written through to the disk, and read back: its sound's
digest, its length, its markers and its broadcast and iXML chunks must be what they were. Only
then does it take the old one's place, in one step of the file system. Whoever pulls the plug
finds the old file or the new one, and at worst a hidden file beside it.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePath

from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import AudioInfo
from logbook.audio.reading import read_audio
from logbook.audio.tag_fields import FileTags, tempo_in_tag
from logbook.audio.tag_files import TagFile, open_tags

_TEMPORARY = ".logbook-tagging-"


@dataclass(frozen=True, slots=True)
class TagChange:
    """One field that would change: its name (see `logbook.audio.tags`), old and new values."""

    field: str
    old: tuple[str, ...]
    new: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TagPlan:
    """What writing the tags would change in the file, and what is to be said about it."""

    path: Path
    changes: tuple[TagChange, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WrittenTags:
    """A file that now has its tags: where it is, what changed, the digest of its sound.

    `notes` is what else is to be said of it.
    """

    path: Path
    changes: tuple[TagChange, ...]
    digest: str
    notes: tuple[str, ...] = ()


def plan_tags(path: Path | str, tags: FileTags) -> TagPlan:
    """What would change in the file at `path`; nothing is written.

    Raises `AudioError` for a file that cannot be read or whose format cannot be tagged.
    """
    path = Path(path)
    info = read_audio(path, digest=False)
    with _unwritable(path):
        tagged, changes = _changed(path, info, tags)
    notes = []
    if tagged.whole_tempo and tags.tempo_bpm and tags.tempo_bpm.denominator != 1:
        exact = tempo_in_tag(tags.tempo_bpm, whole=False)
        rounded = tempo_in_tag(tags.tempo_bpm, whole=True)
        notes.append(f"the tempo {exact} is written as {rounded}: the tag holds whole beats only")
    return TagPlan(path, changes, tuple(notes))


def write_in_place(path: Path | str, tags: FileTags, *, within: Path | str) -> WrittenTags:
    """Writes the tags into the file at `path`, which must lie inside the folder `within`.

    A file that has them already is not touched. The new file keeps the old one's mode, owner and
    extended attributes; other hard links to it keep the old file, and a note says so. Raises
    `AudioError` when the file is outside the folder or a link, cannot be read or tagged, or when
    the proof that the sound is unchanged fails; then nothing has changed.
    """
    path = Path(path)
    with _unwritable(path):
        _inside(path, Path(within))
    before = read_audio(path)
    with _unwritable(path):
        tagged, changes = _changed(path, before, tags)
        notes: tuple[str, ...] = ()
        if changes:
            notes = (*_split(path), *_replace(path, path, before, tagged, keep=True))
    return WrittenTags(path, changes, before.digest or "", notes)


def _split(path: Path) -> list[str]:
    """What becomes of a file's other names on the disk."""
    others = os.stat(path).st_nlink - 1
    if others < 1:
        return []
    which = (
        "another hard link, which still holds"
        if others == 1
        else f"{others} other hard links, which still hold"
    )
    return [f"it had {which} the file without these tags"]


def write_copy(
    path: Path | str, folder: Path | str, tags: FileTags, *, name: PurePath | str | None = None
) -> WrittenTags:
    """Writes a copy of the file at `path`, with the tags, into `folder`, and says where.

    `name` is its place inside the folder, by default the file's own name; folders on the way are
    made. A copy of the same sound that already exists is replaced; any other file is not.
    Raises `AudioError` when the place is outside the folder or taken, the file cannot be read or
    tagged, or the proof fails; then nothing has changed.
    """
    path, folder = Path(path), Path(folder)
    before = read_audio(path)
    with _unwritable(path):
        place = _place(folder, PurePath(name if name is not None else path.name), path)
        _free(place, path, before.digest)
        tagged, changes = _changed(path, before, tags)
        _replace(path, place, before, tagged)
    return WrittenTags(place, changes, before.digest or "")


@contextmanager
def _unwritable(path: Path) -> Iterator[None]:
    """Turns what the system and the tag library complain of into an `AudioError`."""
    try:
        yield
    except AudioError:
        raise
    except OSError as error:
        raise AudioError(
            path, Reason.UNWRITABLE, f"tags cannot be written: {error.strerror or error}"
        ) from None
    except Exception as error:
        # Bytes from outside: whatever the library trips over, the file stays as it was.
        raise AudioError(
            path,
            Reason.UNWRITABLE,
            "its tags are broken or cannot hold this; nothing was written",
        ) from error


def _changed(path: Path, info: AudioInfo, tags: FileTags) -> tuple[TagFile, tuple[TagChange, ...]]:
    """The opened file with the fields put in but not saved, and what they change."""
    tagged = open_tags(path, info)
    old = tagged.names()
    tagged.put(tags)
    new = tagged.names()
    changes = tuple(
        TagChange(field, old.get(field, ()), values)
        for field, values in new.items()
        if old.get(field, ()) != values
    )
    return tagged, changes


def _replace(
    source: Path, place: Path, before: AudioInfo, tagged: TagFile, *, keep: bool = False
) -> list[str]:
    """Makes the tagged file beside `place`, proves it, and lets it take the place.

    With `keep` it gets the owner and the extended attributes of the source too; what could not be
    kept is returned.
    """
    handle, name = tempfile.mkstemp(prefix=_TEMPORARY, suffix=".tmp", dir=place.parent)
    os.close(handle)
    temporary = Path(name)
    try:
        tagged.write_to(temporary)
        lost = _keep(source, temporary) if keep else []
        shutil.copymode(source, temporary)
        with open(temporary, "rb+") as file:
            os.fsync(file.fileno())
        _prove(source, before, temporary)
        os.replace(temporary, place)
    finally:
        temporary.unlink(missing_ok=True)
    _sync_folder(place.parent)
    return lost


def _keep(source: Path, temporary: Path) -> list[str]:
    """Gives a new file the owner and the extended attributes of another, as far as one may."""
    lost = []
    status, own = os.stat(source), os.stat(temporary)
    if hasattr(os, "chown") and (status.st_uid, status.st_gid) != (own.st_uid, own.st_gid):
        try:
            os.chown(temporary, status.st_uid, status.st_gid)
        except OSError:
            with suppress(OSError):
                os.chown(temporary, -1, status.st_gid)
            lost.append("its owner could not be kept: only the superuser gives files away")
    if hasattr(os, "listxattr"):
        try:
            names = os.listxattr(source)
        except OSError:  # a file system without them
            names = []
        failed = []
        for name in names:
            try:
                os.setxattr(temporary, name, os.getxattr(source, name))
            except OSError:
                failed.append(name)
        if failed:
            lost.append(f"its extended attributes {', '.join(failed)} could not be kept")
    return lost


def _prove(source: Path, before: AudioInfo, temporary: Path) -> None:
    """Raises `AudioError` unless the sound and all that hangs on it are what they were."""
    after = read_audio(temporary)
    status = os.stat(source)
    if (status.st_size, status.st_mtime_ns) != (before.size_bytes, before.modified_ns):
        raise AudioError(
            source, Reason.UNWRITABLE, "it changed while its tags were written", "try it again"
        )
    same = all(
        getattr(before, fact) == getattr(after, fact)
        for fact in ("digest", "frames", "rate_hz", "channels", "broadcast", "cues", "ixml")
    )
    if not same:
        raise AudioError(
            source,
            Reason.UNWRITABLE,
            "writing tags would have changed its sound or its chunks, so nothing was written",
        )


def _sync_folder(folder: Path) -> None:
    """Writes the folder's entry through to the disk, where the system can."""
    if os.name == "nt":  # folders cannot be opened there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _inside(path: Path, folder: Path) -> None:
    if path.is_symlink():
        raise AudioError(path, Reason.UNWRITABLE, "a link", "name the file it points to")
    if not path.resolve().is_relative_to(folder.resolve()):
        raise AudioError(
            path, Reason.UNWRITABLE, f"outside the folder {str(folder)!r}", "nothing was written"
        )


def _place(folder: Path, name: PurePath, source: Path) -> Path:
    """The place of `name` inside `folder`, with the folders on the way made."""
    if name.is_absolute() or ".." in name.parts or not name.name:
        raise AudioError(
            source, Reason.UNWRITABLE, f"{str(name)!r} is not a place inside the folder for copies"
        )
    folder.mkdir(parents=True, exist_ok=True)
    root = folder.resolve()
    place = root
    for part in name.parts[:-1]:
        place = place / part
        if place.is_symlink():
            raise AudioError(
                source, Reason.UNWRITABLE, f"{str(place)!r} is a link out of the folder for copies"
            )
        place.mkdir(exist_ok=True)
    return place / name.name


def _free(place: Path, source: Path, digest: str | None) -> None:
    """Raises `AudioError` unless nothing is at `place`, or an older copy of the same sound."""
    if not place.is_symlink() and not place.exists():
        return
    if not place.is_symlink() and place.exists() and os.path.samefile(place, source):
        raise AudioError(
            source,
            Reason.UNWRITABLE,
            "the copy would take the place of the file itself",
            "name another folder, or write in place",
        )
    try:
        taken = place.is_symlink() or read_audio(place).digest != digest
    except AudioError:
        taken = True
    if taken:
        raise AudioError(
            source,
            Reason.UNWRITABLE,
            f"{str(place)!r} already exists and is not a copy of it",
            "name another folder or move that file away",
        )
