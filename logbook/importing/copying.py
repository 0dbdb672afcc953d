"""Where the log's files also lie: copies found and verified by the digest of their sound.

Conventions. A copy is the same sound at another place than the file's own. It is good as long as
the digest that was found there is the file's. Moments are ISO 8601 in UTC.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.audio.errors import AudioError
from logbook.audio.reading import read_audio
from logbook.audio.scanning import AUDIO_SUFFIXES, Progress, list_folder, progress_within
from logbook.records import FileCopy
from logbook.store.copy_rows import read_copies, write_copies
from logbook.store.file_rows import FileLine, read_files

if TYPE_CHECKING:
    from logbook.store.store import Store


@dataclass(frozen=True, kw_only=True)
class CopiesFound:
    """What verifying a folder gave.

    `found` are copies that are there and sound as their file does, `lost` those that were there
    and are not, `changed` those that are another sound now, each as (file, place of the copy);
    `strange` counts the sounds there that the log does not know.
    """

    found: tuple[tuple[str, str], ...]
    lost: tuple[tuple[str, str], ...]
    changed: tuple[tuple[str, str], ...]
    strange: int


@dataclass(frozen=True, kw_only=True)
class CopiesReport:
    """How the log's files are copied: those with one copy only, out of all that were read.

    `oldest` is when the copy was verified that was not looked at for longest, empty without any.
    """

    total: int
    single: tuple[str, ...]
    oldest: str


def place_of(line: FileLine) -> str:
    """Return the whole place of a file of the log."""
    return f"{line.folder.rstrip('/')}/{line.path}" if line.folder else line.path


def report_copies(store: Store) -> CopiesReport:
    """Return which files have one copy only, as far as the log knows. Reads no file."""
    with store.reading() as connection:
        lines = [line for line in read_files(connection) if line.digest]
        copies = read_copies(connection)
    single, verified = [], []
    for line in lines:
        good = [each for each in copies.get(line.id, ()) if each.digest == line.digest]
        verified += [each.verified_at for each in good if each.verified_at]
        if not good:
            single.append(place_of(line))
    return CopiesReport(total=len(lines), single=tuple(single), oldest=min(verified, default=""))


def verify_copies(
    store: Store,
    folder: Path,
    *,
    medium: str = "",
    command: str = "files verify",
    on_progress: Callable[[Progress], None] | None = None,
) -> CopiesFound:
    """Look for copies of the log's files in a folder, and keep where they lie and when.

    Every sound there is read to its end. A copy the log has below the folder that is not there any
    more, or is another sound, is taken out. Raises `AudioError` for a folder that cannot be read.
    """
    root = os.path.realpath(folder).replace("\\", "/")
    heard = _hear(folder, root, on_progress)
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    with store.change(command) as change:
        lines = [line for line in read_files(change.connection) if line.digest]
        before = read_copies(change.connection)
        by_digest: dict[str, list[FileLine]] = {}
        for line in lines:
            by_digest.setdefault(line.digest, []).append(line)
        own = {place_of(line) for line in lines}
        new: dict[int, dict[str, FileCopy]] = {}
        found: list[tuple[str, str]] = []
        strange = 0
        for place, digest in heard.items():
            if place in own:
                continue
            if digest not in by_digest:
                strange += 1
            for line in by_digest.get(digest, []):
                found.append((place_of(line), place))
                copy = FileCopy(place=place, medium=medium, digest=digest, verified_at=now)
                new.setdefault(line.id, {})[place] = copy
        lost: list[tuple[str, str]] = []
        changed: list[tuple[str, str]] = []
        writes: dict[int, tuple[FileCopy, ...]] = {}
        for line in lines:
            kept: dict[str, FileCopy] = {}
            for each in before.get(line.id, ()):
                below = each.place == root or each.place.startswith(f"{root.rstrip('/')}/")
                if not below:
                    kept[each.place] = each
                elif each.place not in new.get(line.id, {}):
                    (changed if each.place in heard else lost).append((place_of(line), each.place))
                elif not medium:
                    again = new[line.id][each.place]
                    new[line.id][each.place] = FileCopy(
                        place=again.place,
                        medium=each.medium,
                        digest=again.digest,
                        verified_at=again.verified_at,
                    )
            after = tuple((kept | new.get(line.id, {})).values())
            if after != before.get(line.id, ()):
                writes[line.id] = after
        write_copies(change, writes)
    return CopiesFound(
        found=tuple(found), lost=tuple(lost), changed=tuple(changed), strange=strange
    )


def _hear(
    folder: Path, root: str, on_progress: Callable[[Progress], None] | None
) -> dict[str, str]:
    """The digest of every sound below a folder, by its place."""
    files = [
        each for each in list_folder(folder)[0] if Path(each.name).suffix.lower() in AUDIO_SUFFIXES
    ]
    total, done = sum(each.size_bytes for each in files), 0
    heard: dict[str, str] = {}
    for index, each in enumerate(files):
        if on_progress:
            on_progress(Progress(index, len(files), done, total))
        on_bytes = progress_within(on_progress, index, len(files), done, total)
        done += each.size_bytes
        try:
            info = read_audio(Path(each.path), on_bytes=on_bytes)
        except AudioError:
            heard[f"{root.rstrip('/')}/{each.name}"] = ""
            continue
        heard[f"{root.rstrip('/')}/{each.name}"] = info.digest or ""
    return heard
