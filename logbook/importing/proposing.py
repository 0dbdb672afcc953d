"""Files that hang on nothing, proposed for the takes they most likely are, and hung as told.

Everything loose below a folder is weighed (`weighing`), and files of one take make one group. A
proposal changes nothing; what a person leaves of it is applied as one undoable change, takes that
nobody logged made on the way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.importing.file_facts import info_of
from logbook.importing.file_index import FileEntry, entry_of
from logbook.importing.matching import ImportOptions
from logbook.importing.proposal_text import Group, ProposalError
from logbook.importing.weighing import Known, Reading, weigh
from logbook.names import matches, none_called, several
from logbook.records import AudioFile
from logbook.store.file_rows import (
    FileChange,
    NewTake,
    Outline,
    add_takes,
    change_files,
    read_outline,
    read_records,
)

if TYPE_CHECKING:
    from logbook.store.changing import Change
    from logbook.store.store import Store

SURE = 0.5
"""How sure a guess has to be to be taken without being looked at."""


@dataclass(frozen=True, kw_only=True)
class Proposed:
    """A group with how sure its least sure file is (0 to 1)."""

    group: Group
    sure: float


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """What is proposed, surest first; files that are copies; files that nothing tells."""

    groups: tuple[Proposed, ...]
    copies: tuple[tuple[str, str], ...]
    untold: tuple[str, ...]


def propose(store: Store, folder: Path, asked: ImportOptions) -> Proposal:
    """Weigh every loose file below a folder that the log knows."""
    root = folder.resolve()
    with store.reading() as connection:
        outline = read_outline(connection)
        loose, copies = _loose(outline, root)
        records = read_records(connection, [entry.id for entry in loose if entry.id])
    known = Known(
        outline,
        song_id=asked.song_id,
        session_id=asked.session_id,
        here_song=asked.here_song,
    )
    read: dict[tuple[int, int | None, int], list[tuple[str, Reading]]] = {}
    untold = []
    for entry in loose:
        name = _name(entry, root)
        path = PurePosixPath(root.name, name)
        found = weigh(info_of(records[entry.id or 0]), path, known)
        if not found:
            untold.append(name)
            continue
        best = found[0]
        key = (best.part_id, best.session_id, best.take)
        read.setdefault(key, []).append((name, best))
    groups = [_group(outline, key, files) for key, files in read.items()]
    groups.sort(key=lambda each: (-each.sure, each.group.song, each.group.part, each.group.take))
    return Proposal(groups=tuple(groups), copies=tuple(copies), untold=tuple(untold))


def _loose(outline: Outline, root: Path) -> tuple[list[FileEntry], list[tuple[str, str]]]:
    """The files below a folder that hang on nothing, without those that are copies of others."""
    entries = [entry_of(line) for line in outline.files]
    hung = {entry.digest: entry.path for entry in entries if entry.hangs and entry.digest}
    loose, copies = [], []
    start = f"{root.as_posix().rstrip('/')}/"
    for entry in entries:
        if entry.hangs or not entry.place.startswith(start):
            continue
        if entry.digest in hung:
            copies.append((_name(entry, root), hung[entry.digest]))
            continue
        hung[entry.digest] = entry.path
        loose.append(entry)
    return loose, copies


def _name(entry: FileEntry, root: Path) -> str:
    return entry.place.removeprefix(f"{root.as_posix().rstrip('/')}/")


def _group(
    outline: Outline,
    key: tuple[int, int | None, int],
    files: Sequence[tuple[str, Reading]],
) -> Proposed:
    part = outline.parts[key[0]]
    version = outline.versions[part.version_id]
    sure = min(reading.sure for _, reading in files)
    # Several files of a take that say no microphone are one too many, or the take is wrong.
    bare = [name for name, reading in files if not reading.microphone]
    if len(bare) > 1:
        sure = min(sure, 0.4)
    why = dict.fromkeys(word for _, reading in files for word in reading.by)
    group = Group(
        song=outline.songs[version.song_id],
        version=version.name,
        part=part.name,
        session=outline.sessions[key[1]].name if key[1] else "",
        take=key[2],
        files=tuple((reading.microphone, name) for name, reading in files),
        said=f"{sure:.0%}: {', '.join(why)}",
    )
    return Proposed(group=group, sure=sure)


# Applying


def hang_groups(change: Change, folder: Path, groups: Iterable[Group]) -> int:
    """Hang files as the groups say, and return how many were.

    Raises ProposalError naming every line that says what is not in the log; then nothing is
    changed.
    """
    root = folder.resolve()
    outline = read_outline(change.connection)
    entries = {_name(entry, root): entry for entry in map(entry_of, outline.files)}
    wrong: list[str] = []
    meant: list[tuple[Group, int, int | None]] = []
    used: dict[str, int] = {}
    for group in groups:
        try:
            part_id, session_id = _owner(outline, group)
            for _, name in group.files:
                _check_file(entries, used, name, group.line)
        except LogbookError as error:
            wrong.append(f"line {group.line}: {error}" if group.line else str(error))
            continue
        meant.append((group, part_id, session_id))
    if wrong:
        raise ProposalError(wrong)
    taken = {(t.part_id, t.session_id, t.number): t.id for t in outline.takes}
    new = [
        key
        for key in dict.fromkeys((part, session, group.take) for group, part, session in meant)
        if key not in taken
    ]
    made = add_takes(change, [NewTake(*key, "") for key in new])
    taken.update(zip(new, made, strict=True))
    changes = []
    for group, part_id, session_id in meant:
        take_id = taken[part_id, session_id, group.take]
        for microphone, name in group.files:
            entry = entries[name]
            assert entry.id is not None, "what the log has, has a row"
            record = AudioFile(path=entry.path, folder=entry.folder, microphone=microphone)
            given = ["microphone"] if microphone else []
            changes.append(FileChange(entry.id, record, given, {"take_id": take_id}))
    change_files(change, changes)
    return len(changes)


def _owner(outline: Outline, group: Group) -> tuple[int, int | None]:
    song_id = _one(outline.songs, group.song, "song")
    versions = {v.id: v.name for v in outline.versions.values() if v.song_id == song_id}
    version_id = _one(versions, group.version, "version")
    parts = {p.id: p.name for p in outline.parts.values() if p.version_id == version_id}
    part_id = _one(parts, group.part, "part")
    sessions = {session.id: session.name for session in outline.sessions.values()}
    return part_id, _one(sessions, group.session, "session") if group.session else None


def _one(known: Mapping[int, str], name: str, what: str) -> int:
    items = list(known.items())
    found = matches(name, items, called=lambda item: item[1])
    if len(found) == 1:
        return found[0][0]
    if found:
        raise several(name, [each[1] for each in found], f"{what}s")
    raise none_called(name, [each[1] for each in items], what)


def _check_file(entries: dict[str, FileEntry], used: dict[str, int], name: str, line: int) -> None:
    entry = entries.get(name)
    if entry is None:
        raise LogbookError(f"no file {name} was imported", "write it as the proposal had it")
    if entry.hangs:
        raise LogbookError(f"{name} hangs on a take already", "take it out of the line")
    if name in used:
        raise LogbookError(f"{name} stands in line {used[name]} too", "leave it in one of them")
    used[name] = line
