"""The log's files against the disk: what is missing, moved, changed, not read, not attached.

Conventions. A file is known by the digest of its sound. It is missing when nothing lies at its
place, changed when other sound does, and moved when its own sound lies elsewhere under a folder
that the log knows (or under the one that is searched). Only files that could be it are read.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.audio.errors import AudioError
from logbook.audio.reading import read_audio
from logbook.audio.scanning import (
    AUDIO_SUFFIXES,
    FoundFile,
    KnownFile,
    Progress,
    list_folder,
    progress_within,
    stat_known,
)
from logbook.importing.file_facts import FACTS, info_of, record_of
from logbook.importing.file_index import FileEntry, closest, digest_at, entry_of
from logbook.importing.matching import ImportOptions, Matcher
from logbook.importing.same_recording import Recordings
from logbook.notebook.fields_files import also_said
from logbook.store.file_rows import (
    FileChange,
    FileLine,
    change_files,
    read_files,
    read_outline,
    read_records,
)

if TYPE_CHECKING:
    from logbook.audio.facts import AudioInfo
    from logbook.store.file_rows import Outline
    from logbook.store.store import Store


@dataclass(frozen=True, kw_only=True, slots=True)
class FileNews:
    """One file of the log with what is to be said of it.

    `hangs_on` is empty where it hangs on nothing; `now` is where a moved file lies; `name` is as
    much of the end of its place as no other file of the log has; `gone` is the outermost folder
    above it that is no longer there.
    """

    place: str
    hangs_on: str = ""
    now: str = ""
    note: str = ""
    name: str = ""
    gone: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class FilesReport:
    """Every file of the log that has news; `total` is how many files it has.

    `not_read` are only mentioned in the log; `relinked` were found and are at their new place
    in the log now.
    """

    total: int
    missing: tuple[FileNews, ...] = ()
    moved: tuple[FileNews, ...] = ()
    changed: tuple[FileNews, ...] = ()
    not_read: tuple[FileNews, ...] = ()
    unassigned: tuple[FileNews, ...] = ()
    relinked: tuple[FileNews, ...] = ()

    @property
    def is_well(self) -> bool:
        """Whether every file that was read is where the log says, with the sound it had."""
        return not (self.missing or self.moved or self.changed)


def report_files(
    store: Store,
    *,
    relink: Path | None = None,
    command: str = "files",
    on_progress: Callable[[Progress], None] | None = None,
) -> FilesReport:
    """Compare the log's files with the disk; with `relink` look for missing ones in that folder.

    What is found there by its digest is moved in the log, in one transaction; `on_progress` is
    told how far each search for files is that are not where they were. Raises
    `AudioError` for a folder that cannot be read.
    """
    with store.reading() as connection:
        outline = read_outline(connection)
    entries = [entry_of(line) for line in outline.files]
    sorted_ = _sorted(entries)
    found: dict[int, Relinked] = {}
    if relink is not None:
        found = _search([relink], sorted_.gone, entries, on_progress)
        _relink(store, command, sorted_.gone, found)
    left = [entry for entry in sorted_.gone if id(entry) not in found]
    elsewhere = _search(_folders(entries), left, entries, on_progress) if left else {}
    say = _Saying(outline)
    loose = sorted((each for each in entries if not each.hangs), key=lambda each: each.place)
    reasons = _reasons(store, outline, loose)
    return FilesReport(
        total=len(entries),
        missing=tuple(
            say.news(each)
            for each in left
            if id(each) not in elsewhere and each not in sorted_.changed
        ),
        moved=tuple(
            say.news(each, now=elsewhere[id(each)].place) for each in left if id(each) in elsewhere
        ),
        changed=tuple(
            say.news(each, note=note)
            for each, note in sorted_.changed.items()
            if id(each) not in elsewhere and id(each) not in found
        ),
        not_read=tuple(
            say.news(each, note="" if stat_known(Path(each.place)) else "not there")
            for each in sorted_.mentioned
        ),
        unassigned=tuple(
            say.news(each, note=why) for each, why in zip(loose, reasons, strict=True)
        ),
        relinked=tuple(
            say.news(each, now=found[id(each)].place) for each in sorted_.gone if id(each) in found
        ),
    )


def _reasons(store: Store, outline: Outline, loose: Sequence[FileEntry]) -> list[str]:
    """Why each file attach-alls on nothing."""
    if not loose:
        return []
    first = {line.digest: line for line in reversed(outline.files) if line.digest}
    first |= {line.digest: line for line in outline.files if _hangs(line) and line.digest}
    matcher = Matcher(outline, ImportOptions())
    recordings = Recordings(map(entry_of, outline.files))
    with store.reading() as connection:
        records = read_records(connection, [each.id for each in loose if each.id])
    reasons = []
    for entry in loose:
        original = first.get(entry.digest)
        if original is not None and original.id != entry.id:
            reasons.append(f"a copy of {original.path}")
            continue
        twins = recordings.twins(entry)
        if any(twin.hangs for twin in twins):
            reasons.append(f"the same recording as {twins[0].path}")
            continue
        folder = Path(entry.folder).name if entry.folder else ""
        match = matcher.match(info_of(records[entry.id or 0]), folder, entry.path)
        told = "it can be told now; logbook import of its folder hangs it"
        reasons.append(match.why if match.take is None else told)
    return reasons


def _hangs(line: FileLine) -> bool:
    return not (line.take_id is None and line.part_id is None and line.version_id is None)


@dataclass(frozen=True, slots=True)
class Relinked:
    """Where a file's sound was found: a folder and a name inside it, and what was read there."""

    folder: str
    name: str
    info: AudioInfo

    @property
    def place(self) -> str:
        """The whole place."""
        return f"{self.folder.rstrip('/')}/{self.name}"


@dataclass(slots=True)
class _Sorted:
    """Entries that are gone from their place, the changed among them, and those only mentioned."""

    gone: list[FileEntry]
    changed: dict[FileEntry, str]
    mentioned: list[FileEntry]


def _sorted(entries: Iterable[FileEntry]) -> _Sorted:
    result = _Sorted([], {}, [])
    for entry in entries:
        if not entry.digest:
            result.mentioned.append(entry)
            continue
        there = stat_known(Path(entry.place)) if entry.place else None
        if there is None:
            result.gone.append(entry)
        elif there != entry.known and (digest := digest_at(entry.place)) != entry.digest:
            result.gone.append(entry)
            result.changed[entry] = "" if digest else "what lies there cannot be read"
    return result


def _folders(entries: Iterable[FileEntry]) -> list[Path]:
    """The folders the log's files were imported from, those inside others left out."""
    folders = sorted({entry.folder for entry in entries if entry.folder and entry.digest})
    outer: list[str] = []
    for folder in folders:
        if not any(folder.startswith(f"{each.rstrip('/')}/") for each in outer):
            outer.append(folder)
    return [Path(folder) for folder in outer if Path(folder).is_dir()]


def _search(
    folders: Iterable[Path],
    gone: Iterable[FileEntry],
    entries: Iterable[FileEntry],
    on_progress: Callable[[Progress], None] | None,
) -> dict[int, Relinked]:
    """Look for files by digest below the folders: by `id` of the entry, where each now lies.

    Files of the same size are read first, then the others; the search ends with the last found.
    """
    wanted: dict[str, list[FileEntry]] = {}
    for entry in gone:
        wanted.setdefault(entry.digest, []).append(entry)
    if not wanted:
        return {}
    known = {entry.place: entry for entry in entries if entry.place and entry.digest}
    sizes = {entry.size for entry in gone}
    found: dict[int, Relinked] = {}
    waiting: list[tuple[bool, str, FoundFile]] = []
    for folder in folders:
        root = folder.resolve().as_posix()
        for candidate in list_folder(folder)[0]:
            owner = known.get(f"{root.rstrip('/')}/{candidate.name}")
            if owner is None or owner.known != KnownFile(
                candidate.size_bytes, candidate.modified_ns
            ):
                likely = candidate.size_bytes in sizes
                if likely or Path(candidate.name).suffix.lower() in AUDIO_SUFFIXES:
                    waiting.append((not likely, root, candidate))
    waiting.sort()
    total, done = sum(each.size_bytes for _, _, each in waiting), 0
    for index, (_, root, candidate) in enumerate(waiting):
        if not wanted:
            break
        if on_progress:
            on_progress(Progress(index, len(waiting), done, total))
        on_bytes = progress_within(on_progress, index, len(waiting), done, total)
        done += candidate.size_bytes
        try:
            info = read_audio(Path(candidate.path), on_bytes=on_bytes)
        except AudioError:
            continue
        at = Relinked(root, candidate.name, info)
        same = wanted.get(info.digest or "", [])
        owner = known.get(at.place)
        if same and (owner is None or owner.digest != info.digest):
            entry = closest(same, candidate.name)
            same.remove(entry)
            found[id(entry)] = at
            if not same:
                del wanted[info.digest or ""]
    return found


def _relink(
    store: Store, command: str, gone: Iterable[FileEntry], found: dict[int, Relinked]
) -> None:
    """Write where files were found; all of them or none."""
    if not found:
        return
    with store.change(command) as change:
        there = {(line.folder, line.path): line for line in read_files(change.connection)}
        changes = []
        for entry in gone:
            at = found.get(id(entry))
            if at is None or entry.id is None or (at.folder, at.name) in there:
                found.pop(id(entry), None)
                continue
            record = record_of(at.info, folder=at.folder, path=at.name)
            changes.append(FileChange(entry.id, record, (*FACTS, "path", "folder")))
        change_files(change, changes)


def _place(line: FileLine) -> str:
    return f"{line.folder.rstrip('/')}/{line.path}" if line.folder else line.path


def _ends(place: str) -> Iterator[str]:
    """The ends of a place: its name, then its folder with its name, and so on."""
    steps = place.split("/")
    for count in range(1, len(steps) + 1):
        yield "/".join(steps[-count:])


class _Saying:
    """Puts entries into words."""

    def __init__(self, outline: Outline) -> None:
        self._outline = outline
        self._takes = {take.id: take for take in outline.takes}
        self._ends = Counter(end for line in outline.files for end in _ends(_place(line)))
        self._there: dict[str, bool] = {}

    def news(self, entry: FileEntry, *, now: str = "", note: str = "") -> FileNews:
        place = entry.place or entry.path
        return FileNews(
            place=place,
            hangs_on=self._owner(entry),
            now=now,
            note=note,
            name=next((end for end in _ends(place) if self._ends[end] == 1), place),
            gone=self._gone(entry.place),
        )

    def _gone(self, place: str) -> str:
        """The outermost folder above a place that is not there; empty where all are."""
        gone = ""
        for folder in Path(place).parents if place else ():
            known = self._there.get(str(folder))
            if known is None:
                known = self._there[str(folder)] = folder.is_dir()
            if known:
                break
            gone = folder.as_posix()
        return gone

    def _owner(self, entry: FileEntry) -> str:
        outline = self._outline
        version_id = entry.version_id
        ending: list[str] = []
        part_id = entry.part_id
        if entry.take_id is not None:
            take = self._takes[entry.take_id]
            part_id = take.part_id
            ending = [f"take {take.number}"]
        if part_id is not None:
            part = outline.parts[part_id]
            version_id = part.version_id
            ending = [part.name, *(ending or ["finished"])]
        also = [also_said(each) for each in json.loads(entry.shared)] if entry.shared else []
        if version_id is None:
            return "; ".join(also)
        version = outline.versions[version_id]
        own = ", ".join([outline.songs[version.song_id], version.name, *(ending or ["mix"])])
        return f"{own}, also {' and '.join(also)}" if also else own
