"""A folder of audio files hung on the takes of the log.

Conventions. Files are read one after the other and written in batches, each one transaction with
its place in the history: whoever stops an import half way finds every file in the log or not at
all, and the next one reads only the others. Who else writes meanwhile is noticed, and what a
batch says is decided inside the transaction that writes it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.audio.patterns import Trial, try_patterns
from logbook.audio.scanning import (
    Fresh,
    Progress,
    Refused,
    Unchanged,
    scan,
)
from logbook.errors import LogbookError
from logbook.importing.file_facts import FACTS, info_of
from logbook.importing.file_index import FileEntry, FileIndex
from logbook.importing.filing import COPY, NEW, REFUSED, Filed, FileOutcome, Filer
from logbook.importing.matching import ImportOptions, Matcher
from logbook.importing.path_words import path_words, runs_of
from logbook.importing.placing import Clock
from logbook.records import AudioFile, Version
from logbook.store.file_rows import (
    FileChange,
    NewTake,
    Outline,
    add_files,
    add_takes,
    change_files,
    last_command,
    learn_of_take,
    read_outline,
    read_records,
    read_time,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.changing import Change
    from logbook.store.store import Store

_BATCH_FILES = 400
_BATCH_SECONDS = 5.0
_NAMES_TRIED = 400


@dataclass(kw_only=True, slots=True)
class Imported:
    """What an import did: every file that is new or has news, and counts of the others.

    `passed_over` are files that are not audio and are not called so; `unassigned_before` those
    known from before that still hang on nothing; `patterns` how many names each pattern read;
    `steps` how many commands of the history it made, which is how many to undo.
    """

    folder: str
    outcomes: list[FileOutcome] = field(default_factory=list)
    unchanged: int = 0
    steps: int = 0
    passed_over: int = 0
    unassigned_before: int = 0
    patterns: dict[str, int] = field(default_factory=dict)
    trials: tuple[Trial, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def refused(self) -> list[FileOutcome]:
        """Files that could not be used."""
        return [each for each in self.outcomes if each.what == REFUSED]

    @property
    def unassigned(self) -> list[FileOutcome]:
        """New files that hang on nothing."""
        return [each for each in self.outcomes if each.what != REFUSED and not each.hangs]


def import_folder(
    store: Store,
    folder: Path,
    asked: ImportOptions,
    *,
    command: str,
    dry_run: bool = False,
    on_progress: Callable[[Progress], None] | None = None,
) -> Imported:
    """Read every new file under `folder`, and hang it on the take that it says it is.

    With `dry_run` nothing is written. Raises `AudioError` for a folder that cannot be read and
    `PatternError` for a pattern that is none; what a single file's trouble is stands in its
    outcome.
    """
    return _Import(store, folder, asked, command, dry_run).run(on_progress)


class _Import:
    def __init__(
        self, store: Store, folder: Path, asked: ImportOptions, command: str, dry_run: bool
    ) -> None:
        self.store = store
        self.folder = folder
        self.asked = asked
        self.command = command
        self.dry_run = dry_run
        self.root = folder.resolve().as_posix()
        self.done = Imported(folder=self.root)
        with store.reading() as connection:
            self.filer = self._filer(read_outline(connection))
        self.waiting: list[Fresh] = []
        self.later: list[Fresh] = []
        self.loose: list[FileEntry] = []
        self.began = time.monotonic()

    def _filer(self, outline: Outline) -> Filer:
        self.seen_command = outline.last_command
        return Filer(
            root=self.root,
            folder_name=self.folder.resolve().name,
            index=FileIndex(outline.files),
            matcher=Matcher(outline, self.asked),
            clock=Clock(self._read_time),
        )

    def _read_time(self, version_id: int) -> Version:
        with self.store.reading() as connection:
            return read_time(connection, version_id)

    def run(self, on_progress: Callable[[Progress], None] | None) -> Imported:
        try:
            return self._run(on_progress)
        except LogbookError as error:
            written = len(self.done.outcomes)
            if not written or self.dry_run:
                raise
            files = "1 file was" if written == 1 else f"{written} files were"
            raise LogbookError(
                f"the import stopped: {error.problem.replace('nothing was', 'nothing more was')}",
                f"{files} dealt with and need not be again; {error.remedy}",
            ) from error

    def _run(self, on_progress: Callable[[Progress], None] | None) -> Imported:
        inside = self.filer.index.inside(self.root)
        known = {name: entry.known for name, entry in inside.items() if entry.known}
        for found in scan(
            self.folder, known, on_progress=on_progress, is_home=self._is_sessions_own
        ):
            if isinstance(found, Unchanged):
                self._unchanged(inside[found.name])
            elif isinstance(found, Refused):
                self._refuse(found, inside.get(found.name))
            else:
                self.waiting.append(found)
                if self._full():
                    self._write_waiting()
        self._write_waiting()
        self.waiting, self.later = self.later, []
        self._write_waiting(last=True)
        self._hang_loose()
        self.done.outcomes.sort(key=lambda outcome: outcome.file)
        self.done.remarks = tuple(self.filer.matcher.bad_patterns)
        self._try_patterns()
        return self.done

    def _is_sessions_own(self, folder: str) -> bool:
        """Whether a folder inside this one is called after a session or its day."""
        steps = path_words(f"{folder}/x")[1:]
        sessions = self.filer.matcher.outline.sessions.values()
        names = [name for each in sessions for name in (each.name, each.date) if name]
        return any(runs_of(name, steps) for name in names)

    def _full(self) -> bool:
        return len(self.waiting) >= _BATCH_FILES or time.monotonic() - self.began > _BATCH_SECONDS

    def _unchanged(self, entry: FileEntry) -> None:
        self.done.unchanged += 1
        entry.left = False
        if not entry.hangs:
            self.done.unassigned_before += 1
            if self.filer.matcher.may_tell(entry.place, chunks=entry.chunks):
                self.loose.append(entry)

    def _refuse(self, found: Refused, entry: FileEntry | None) -> None:
        if not found.called_audio and entry is None:
            self.done.passed_over += 1
            return
        remarks = ("the log has a file of this name",) if entry is not None else ()
        self.done.outcomes.append(
            FileOutcome(
                file=found.name, what=REFUSED, why=found.why, kind=found.reason, remarks=remarks
            )
        )

    def _write_waiting(self, *, last: bool = False) -> None:
        """File what was read and write it, in one transaction."""
        fresh, self.waiting = self.waiting, []
        self.began = time.monotonic()
        if not fresh:
            return
        if self.dry_run:
            self._keep(self._file(fresh, last=last))
            return
        with self.store.change(self.command) as change:
            self._renew(change.connection)
            filed = self._file(fresh, last=last)
            _write(change, self.filer, filed)
        self.seen_command = change.command_id or self.seen_command
        self.done.steps += change.command_id is not None
        self._keep(filed)

    def _renew(self, connection: Connection) -> None:
        """Look at the log anew where somebody else has written to it meanwhile."""
        if last_command(connection) != self.seen_command:
            self.filer = self._filer(read_outline(connection))

    def _file(self, fresh: Sequence[Fresh], *, last: bool) -> list[Filed]:
        filed = []
        for found in fresh:
            if not last and self.filer.waits(found.name, found.info):
                self.later.append(found)
            else:
                filed.append(self.filer.file(found.name, found.info))
        return filed

    def _keep(self, filed: Sequence[Filed]) -> None:
        for each in filed:
            self._take_down(each.outcome)

    def _take_down(self, outcome: FileOutcome) -> None:
        self.done.outcomes.append(outcome)
        if outcome.pattern:
            self.done.patterns[outcome.pattern] = self.done.patterns.get(outcome.pattern, 0) + 1

    def _hang_loose(self) -> None:
        """Hang files from before that can be told now; the log knows more than it did."""
        if not self.loose:
            return
        if self.dry_run:
            with self.store.reading() as connection:
                filed = self._matched_now(connection)
        else:
            with self.store.change(self.command) as change:
                filed = self._matched_now(change.connection)
                _write(change, self.filer, filed)
            self.done.steps += change.command_id is not None
        self.done.unassigned_before -= len(filed)
        self._keep(filed)

    def _matched_now(self, connection: Connection) -> list[Filed]:
        records = read_records(connection, [entry.id for entry in self.loose if entry.id])
        filed = []
        for entry in self.loose:
            record = records.get(entry.id or 0)
            if record is not None:
                found = self.filer.hang_known(entry, record, info_of(record))
                if found is not None:
                    filed.append(found)
        return filed

    def _try_patterns(self) -> None:
        """Say what the usual patterns make of the names, where some could not be told."""
        names = [each.file for each in self.done.unassigned][:_NAMES_TRIED]
        if not names:
            return
        outline = self.filer.matcher.outline
        self.done.trials = try_patterns(
            [f"{self.filer.folder_name}/{name}" for name in names],
            parts=dict.fromkeys(part.name for part in outline.parts.values()),
            songs=outline.songs.values(),
            patterns=[pattern.text for pattern in self.filer.matcher.patterns],
        )


def _write(change: Change, filer: Filer, filed: Sequence[Filed]) -> None:
    """Write a batch: first the takes, then files that were known, then new ones."""
    takes = list(
        {id(each.take): each.take for each in filed if each.take and each.take.id is None}.values()
    )
    new = [
        NewTake(take.part_id, take.session_id, take.number, take.bars, take.clock) for take in takes
    ]
    for take, take_id in zip(takes, add_takes(change, new), strict=True):
        take.id = take_id
        filer.matcher.takes[take_id] = take
    made = {take.id for take in takes}
    for each in filed:
        taken = each.take.id if each.take else each.entry.take_id
        if (each.bars or each.clock) and taken is not None and taken not in made:
            learn_of_take(change, taken, each.bars, each.clock)
    changes: list[FileChange] = []
    added: list[Filed] = []
    for each in filed:
        if each.hang and each.take is not None:
            each.entry.take_id = each.take.id
        if each.outcome.what in (NEW, COPY):
            added.append(each)
        else:
            changes += _changes(each)
    change_files(change, changes)
    rows = [(each.record, _owner(each)) for each in added]
    for each, row_id in zip(added, add_files(change, rows), strict=True):
        each.entry.id = row_id
    change.session.flush()
    change.session.expunge_all()


def _changes(filed: Filed) -> Iterator[FileChange]:
    aside = filed.aside
    if aside is not None and aside.id is not None:
        record = AudioFile(path=filed.aside_path, folder=aside.folder)
        yield FileChange(aside.id, record, ("path", "folder"))
    entry_id = filed.entry.id
    assert entry_id is not None, "a file that was known has its row"
    given = [*FACTS, "path", "folder"]
    if filed.record.microphone:
        given.append("microphone")
    yield FileChange(
        entry_id,
        filed.record,
        given,
        _owner(filed) if filed.hang else None,
        filed.other_sound,
    )


def _owner(filed: Filed) -> dict[str, int]:
    take_id = filed.entry.take_id
    return {} if take_id is None else {"take_id": take_id}
