"""Many files of the log hung at once, found by a pattern as a shell has it (`drums/*_07_*`).

A pattern is held against the whole place of a file and against every end of it that begins with
a folder or the name; the extension may be left out. Capitals and the form of accents do not
matter. One sound hangs once: a copy of what hangs, or of another file that matches, is left loose.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from pathlib import PurePosixPath

from logbook.errors import LogbookError
from logbook.importing.file_index import FileEntry, entry_of
from logbook.importing.path_words import path_words
from logbook.importing.proposing import differing_words
from logbook.importing.weighing_takes import microphone_beside
from logbook.names import fold
from logbook.store.changing import Change
from logbook.store.file_rows import FileChange, change_files, read_files, read_records


@dataclass(frozen=True, kw_only=True)
class Hung:
    """What was hung, each file with its microphone, and what was not, each with why."""

    files: tuple[tuple[str, str], ...]
    left: tuple[tuple[str, str], ...]


def files_matching(entries: Iterable[FileEntry], pattern: str) -> list[FileEntry]:
    """The files that a pattern means, in the order of the log: originals before copies."""
    wanted = fold(pattern).rstrip("/")
    return [entry for entry in entries if _fits(fold(entry.place or entry.path), wanted)]


def _fits(place: str, wanted: str) -> bool:
    steps = place.split("/")
    deep = wanted.count("/") + 1
    ends = [place, "/".join(steps[-deep:])]
    bare = [end.rpartition(".")[0] for end in ends if "." in end.rpartition("/")[2]]
    return any(fnmatchcase(end, wanted) for end in [*ends, *bare])


def hang_matching(
    change: Change,
    patterns: Sequence[str],
    owner: dict[str, int],
    *,
    names: Sequence[str] = (),
    microphone: str = "",
    also: Sequence[tuple[str, ...]] = (),
) -> Hung:
    """Hang every file that one of the patterns means on an owner (as `take_id`, a row number).

    Without a microphone said, it is read from each name; `names` are those of song, part and take,
    which are no microphone. `also` is what they are of besides, which files that are attached
    already are then said to be too; without an owner they are of that alone. Raises LogbookError
    where nothing fits a pattern.
    """
    entries = [entry_of(line) for line in read_files(change.connection)]
    meant: dict[int, FileEntry] = {}
    for pattern in patterns:
        found = files_matching(entries, pattern)
        if not found:
            raise LogbookError(
                f'no file of the log fits "{pattern}"',
                "logbook files lists those that are not attached; import their folder first",
            )
        meant.update((entry.id or 0, entry) for entry in found)
    hanging = {entry.digest: entry for entry in entries if entry.hangs and entry.digest}
    hung: list[FileEntry] = []
    left = []
    for entry in meant.values():
        twin = hanging.get(entry.digest)
        if entry.hangs and also:
            hung.append(entry)
        elif entry.hangs:
            left.append((entry.path, "it is attached already"))
        elif twin is not None:
            left.append((entry.path, f"a copy of {twin.path}, which is attached already"))
        else:
            if entry.digest:
                hanging[entry.digest] = entry
            hung.append(entry)
    said = [microphone or _microphone(entry, names) for entry in hung]
    if not microphone:
        said = differing_words([entry.path for entry in hung], said)
    before = read_records(change.connection, [entry.id for entry in hung if entry.id])
    changes = []
    for at, entry in enumerate(hung):
        assert entry.id is not None, "what the log has, has a row"
        there, mic = before[entry.id], said[at]
        if entry.hangs and not microphone:
            said[at] = mic = there.microphone
        record = replace(there, microphone=mic, also=tuple(dict.fromkeys((*there.also, *also))))
        given = [*(["microphone"] if mic else []), *(["also"] if also else [])]
        changes.append(FileChange(entry.id, record, given, None if entry.hangs else owner or None))
    change_files(change, changes)
    hung_mics = sorted(zip((entry.path for entry in hung), said, strict=True))
    return Hung(
        files=tuple(hung_mics),
        left=tuple(left),
    )


def twin_that_hangs(change: Change, file_id: int) -> str:
    """Another file with the sound of this one that hangs on something; empty for none."""
    entries = [entry_of(line) for line in read_files(change.connection)]
    digest = next((entry.digest for entry in entries if entry.id == file_id), "")
    same = (e.path for e in entries if e.digest == digest and e.hangs and e.id != file_id)
    return next(same, "") if digest else ""


def _microphone(entry: FileEntry, names: Sequence[str]) -> str:
    step = path_words(PurePosixPath(entry.path).name)[0]
    return microphone_beside(step, names)
