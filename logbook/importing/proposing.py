"""Files that hang on nothing, proposed for the takes they most likely are, and hung as told.

Everything loose below a folder is weighed (`weighing`), and files of one take make one group. A
proposal changes nothing; what a person leaves of it is applied as one undoable change, takes that
nobody logged made on the way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from logbook.audio.errors import AudioError
from logbook.audio.facts import AudioInfo
from logbook.audio.reading import read_audio
from logbook.errors import LogbookError
from logbook.importing.aliases import learn_aliases
from logbook.importing.file_facts import info_of
from logbook.importing.file_index import FileEntry, entry_of
from logbook.importing.learning_patterns import learn_patterns
from logbook.importing.matching import ImportOptions
from logbook.importing.near_copies import NearCopies
from logbook.importing.parts_beside import JOINED, microphones_meant, parts_beside, parts_meant
from logbook.importing.path_words import path_words
from logbook.importing.placing import Clock
from logbook.importing.proposal_text import FileGroup, ProposalError
from logbook.importing.same_recording import Recordings
from logbook.importing.weighing import PlaceReading, weigh
from logbook.importing.weighing_known import KnownLog, Near
from logbook.importing.weighing_takes import microphone_of
from logbook.names import matches, none_called, several
from logbook.records import AudioFile, Version
from logbook.store.file_rows import (
    FileChange,
    NewTake,
    Outline,
    add_takes,
    change_files,
    read_outline,
    read_records,
    read_time,
)

if TYPE_CHECKING:
    from logbook.store.changing import Change
    from logbook.store.store import Store

SURE = 0.5
"""How sure a guess has to be to be taken without being looked at."""

_SURE_OF_ITSELF = 0.8

_Key = tuple[int, int | None, int, tuple[int, ...]]
"""What files of one line share: part, session, take, and the parts that their channels are too."""


@dataclass(frozen=True, kw_only=True)
class Proposed:
    """A group with how sure its least sure file is (0 to 1)."""

    group: FileGroup
    sure: float


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """What is proposed, surest first; files that are copies; files that nothing tells.

    A copy is its name, what it is of, and how it differs (empty for the same sound).
    """

    groups: tuple[Proposed, ...]
    copies: tuple[tuple[str, str, str], ...]
    untold: tuple[str, ...]


def propose(store: Store, folder: Path, asked: ImportOptions) -> Proposal:
    """Weigh every loose file below a folder that the log knows."""
    root = folder.resolve()
    with store.reading() as connection:
        outline = read_outline(connection)
        loose, copies = _loose(outline, root)
        records = read_records(connection, [entry.id for entry in loose if entry.id])

    def read_version(version_id: int) -> Version:
        with store.reading() as connection:
            return read_time(connection, version_id)

    known = KnownLog(
        outline,
        lasts=Clock(read_version).lasts,
        song_id=asked.song_id,
        session_id=asked.session_id,
        here_song=asked.here_song,
    )
    told = _read(outline, known, root, [(entry, records[entry.id or 0]) for entry in loose])
    read: dict[_Key, list[tuple[str, PlaceReading]]] = {}
    for name, best in told.items():
        if best is not None:
            beside = tuple(each for each, _ in best.beside)
            key = (best.part_id, best.session_id, best.take, beside)
            read.setdefault(key, []).append((name, best))
    untold = [name for name, best in told.items() if best is None]
    groups = [_group(outline, key, files) for key, files in read.items()]
    groups.sort(key=lambda each: (-each.sure, each.group.song, each.group.part, each.group.take))
    return Proposal(groups=tuple(groups), copies=tuple(copies), untold=tuple(untold))


def _read(
    outline: Outline, known: KnownLog, root: Path, loose: Sequence[tuple[FileEntry, AudioFile]]
) -> dict[str, PlaceReading | None]:
    """What each file most likely is; who is not sure is asked again, knowing its neighbours."""
    infos = {_name(entry, root): _facts(entry, record) for entry, record in loose}
    paths = {name: PurePosixPath(root.name, name) for name in infos}
    known.learn_letters(paths.values())
    first = {name: weigh(info, paths[name], known) for name, info in infos.items()}
    told = {name: found[0] for name, found in first.items() if found}
    near = _neighbours(outline, known, root, told)
    out: dict[str, PlaceReading | None] = {}
    for name, info in infos.items():
        best = told.get(name)
        around = near.get(str(PurePosixPath(name).parent))
        if around is not None and (best is None or best.sure < _SURE_OF_ITSELF):
            found = weigh(info, paths[name], known, around)
            best = found[0] if found else None
        out[name] = best
    return out


def _facts(entry: FileEntry, record: AudioFile) -> AudioInfo:
    """What a file says of itself: its header read again, else what the log has kept of it."""
    try:
        return read_audio(Path(entry.place), digest=False)
    except AudioError:
        return info_of(record)


def _neighbours(
    outline: Outline, known: KnownLog, root: Path, told: Mapping[str, PlaceReading]
) -> dict[str, Near]:
    """For each folder that holds files that are sure, or hang already: their songs and sessions."""
    songs: dict[str, Counter[int]] = {}
    sessions: dict[str, Counter[int]] = {}

    def count(folder: str, part_id: int, session_id: int | None) -> None:
        song_id = outline.versions[outline.parts[part_id].version_id].song_id
        songs.setdefault(folder, Counter())[song_id] += 1
        sessions.setdefault(folder, Counter())[session_id or 0] += 1

    for name, reading in told.items():
        if reading.sure >= _SURE_OF_ITSELF:
            count(str(PurePosixPath(name).parent), reading.part_id, reading.session_id)
    takes = {take.id: take for take in outline.takes}
    start = f"{root.as_posix().rstrip('/')}/"
    for line in outline.files:
        place = f"{line.folder.rstrip('/')}/{line.path}" if line.folder else ""
        take = takes.get(line.take_id or 0)
        if take is not None and place.startswith(start):
            parent = str(PurePosixPath(place.removeprefix(start)).parent)
            count(parent, take.part_id, take.session_id)
    return {
        folder: Near(songs=_shares(songs[folder]), sessions=_shares(sessions[folder]))
        for folder in songs
    }


def _shares(counts: Counter[int]) -> dict[int, float]:
    total = counts.total()
    return {each: count / total for each, count in counts.items() if each}


def _loose(outline: Outline, root: Path) -> tuple[list[FileEntry], list[tuple[str, str, str]]]:
    """The files below a folder that hang on nothing, without those that are copies of others."""
    entries = [entry_of(line) for line in outline.files]
    hung = {entry.digest: entry.path for entry in entries if entry.hangs and entry.digest}
    recordings = Recordings(entries)
    loose: list[FileEntry] = []
    copies = []
    start = f"{root.as_posix().rstrip('/')}/"
    for entry in entries:
        if entry.hangs or not entry.place.startswith(start):
            continue
        if entry.digest in hung:
            copies.append((_name(entry, root), hung[entry.digest], ""))
            continue
        twin = next((e for e in recordings.twins(entry) if e.hangs or e in loose), None)
        if twin is not None:
            copies.append((_name(entry, root), twin.path, ""))
            continue
        hung[entry.digest] = entry.path
        loose.append(entry)
    attached = [entry for entry in entries if entry.hangs]
    near = NearCopies()
    kept: list[FileEntry] = []
    for entry in loose:
        like = near.find(entry, [e for e in (*attached, *kept) if not _other_lines(entry, e)])
        if like is None:
            kept.append(entry)
        else:
            copies.append((_name(entry, root), like.path, str(like)))
    return kept, copies


def _other_lines(one: FileEntry, other: FileEntry) -> bool:
    """Whether two names say two different lines of a take, which may sound much alike."""
    said = [
        microphone_of(path_words(PurePosixPath(each.path).name)[0], set()) for each in (one, other)
    ]
    return all(said) and said[0].casefold() != said[1].casefold()


def _name(entry: FileEntry, root: Path) -> str:
    return entry.place.removeprefix(f"{root.as_posix().rstrip('/')}/")


def _group(
    outline: Outline,
    key: _Key,
    files: Sequence[tuple[str, PlaceReading]],
) -> Proposed:
    part = outline.parts[key[0]]
    version = outline.versions[part.version_id]
    files = told_apart(files)
    sure = min(reading.sure for _, reading in files)
    # Several files of a take that say the same microphone are one too many, or the take is wrong.
    if max(Counter(reading.microphone for _, reading in files).values()) > 1:
        sure = min(sure, 0.4)
    why = dict.fromkeys(word for _, reading in files for word in reading.by)
    beside = [outline.parts[each].name for each in key[3]]
    beside = beside or parts_beside([name for name, _ in files], part, outline)
    group = FileGroup(
        song=outline.songs[version.song_id],
        version=version.name,
        part=JOINED.join([part.name, *beside]),
        session=outline.sessions[key[1]].name if key[1] else "",
        take=key[2],
        files=tuple(
            (JOINED.join([reading.microphone, *(each for _, each in reading.beside)]), name)
            for name, reading in files
        ),
        said=f"{sure:.0%}: {', '.join(why)}",
    )
    return Proposed(group=group, sure=sure)


def told_apart(files: Sequence[tuple[str, PlaceReading]]) -> list[tuple[str, PlaceReading]]:
    """The files of a take, those that say the same microphone told apart by what differs."""
    said = [reading.microphone for _, reading in files]
    words = differing_words([name for name, _ in files], said)
    return [
        (name, replace(reading, microphone=each))
        for (name, reading), each in zip(files, words, strict=True)
    ]


def differing_words(names: Sequence[str], said: Sequence[str]) -> list[str]:
    """The microphones of files of a take; those said twice become what differs in the names.

    What all names have in common at their ends or beginnings is no microphone.
    """
    counts = Counter(said)
    if len(names) < 2 or max(counts.values()) == 1:
        return list(said)
    if len({PurePosixPath(name).parent for name in names}) > 1:
        return list(said)  # two files of one name in two places are no two microphones
    words = [[word.written for word in path_words(name)[0]] for name in names]
    first, last = words[0], words[0][::-1]
    start = end = 0
    while all(len(each) > start and each[start] == first[start] for each in words):
        start += 1
    while all(len(each) - end > start and each[-1 - end] == last[end] for each in words):
        end += 1
    differing = [" ".join(each[start : len(each) - end]) for each in words]
    if len(set(differing)) < len(names) or not start + end:
        return list(said)
    return [mic if counts[mic] == 1 else other for mic, other in zip(said, differing, strict=True)]


# Applying


def hang_groups(change: Change, folder: Path, groups: Iterable[FileGroup]) -> int:
    """Hang files as the groups say, and return how many were.

    Raises ProposalError naming every line that says what is not in the log; then nothing is
    changed.
    """
    root = folder.resolve()
    outline = read_outline(change.connection)
    entries = {_name(entry, root): entry for entry in map(entry_of, outline.files)}
    wrong: list[str] = []
    meant: list[tuple[FileGroup, int, int | None]] = []
    beside: dict[int, list[int]] = {}
    used: dict[str, int] = {}
    for group in groups:
        try:
            if group.song:
                part_id, session_id, others = _owner(outline, group)
                beside[id(group)] = others
            else:
                sessions = {each.id: each.name for each in outline.sessions.values()}
                part_id, session_id = 0, _one(sessions, group.session, "session")
            for _, name in group.files:
                _check_file(entries, used, name, group.line)
        except LogbookError as error:
            wrong.append(f"line {group.line}: {error}" if group.line else str(error))
            continue
        meant.append((group, part_id, session_id))
    if wrong:
        raise ProposalError(wrong)
    whole = [(group, session_id) for group, part_id, session_id in meant if not part_id]
    meant = [each for each in meant if each[1]]
    taken = {(t.part_id, t.session_id, t.number): t.id for t in outline.takes}
    new = [
        key
        for key in dict.fromkeys(
            (each, session, group.take)
            for group, part, session in meant
            for each in (part, *beside[id(group)])
        )
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
            names = [outline.parts[each].name for each in beside[id(group)]]
            microphone, *mics = microphones_meant(microphone, 1 + len(names))
            also = tuple(
                ("", "", each, "", "", mic) if mic else ("", "", each, "", "")
                for each, mic in zip(names, mics, strict=True)
            )
            record = AudioFile(
                path=entry.path, folder=entry.folder, microphone=microphone, also=also
            )
            given = [*(["microphone"] if microphone else []), *(["also"] if also else [])]
            changes.append(FileChange(entry.id, record, given, {"take_id": take_id}))
    for group, session_id in whole:
        said = outline.sessions[session_id or 0].name
        for microphone, name in group.files:
            entry = entries[name]
            assert entry.id is not None, "what the log has, has a row"
            record = AudioFile(
                path=entry.path,
                folder=entry.folder,
                microphone=microphone,
                also=(("", "", "", "", said),),
            )
            given = [*(["microphone"] if microphone else []), "also"]
            changes.append(FileChange(entry.id, record, given))
    change_files(change, changes)
    learn_aliases(change, root, ((group, part_id) for group, part_id, _ in meant))
    learn_patterns(change, root, meant)
    return len(changes)


def _owner(outline: Outline, group: FileGroup) -> tuple[int, int | None, list[int]]:
    """The part and session that a group names, and the parts it is of besides."""
    song_id = _one(outline.songs, group.song, "song")
    versions = {v.id: v.name for v in outline.versions.values() if v.song_id == song_id}
    version_id = _one(versions, group.version, "version")
    parts = {p.id: p.name for p in outline.parts.values() if p.version_id == version_id}
    named = parts_meant(group.part, list(parts.values()))
    part_id, *others = [_one(parts, name, "part") for name in named]
    sessions = {session.id: session.name for session in outline.sessions.values()}
    session_id = _one(sessions, group.session, "session") if group.session else None
    return part_id, session_id, others


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
        raise LogbookError(f"{name} is attached to a take already", "take it out of the line")
    if name in used:
        raise LogbookError(f"{name} stands in line {used[name]} too", "leave it in one of them")
    used[name] = line
