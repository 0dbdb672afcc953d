"""Many audio files at once: a short outline of the log to file them by, and writing in bulk.

Conventions
-----------
An outline holds bare rows, so that a folder of thousands of files is compared with a log of
hundreds of thousands without a query a file. New files go to the database together, and the
history has every one of them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Connection, select
from sqlalchemy.exc import IntegrityError

from logbook.errors import LogbookError
from logbook.names import pick
from logbook.records import AudioFile, Version
from logbook.store.bulk import add_rows
from logbook.store.changing import Change
from logbook.store.layout import SHAPES, Shape
from logbook.store.loading import load
from logbook.store.models.base import Base
from logbook.store.models.files import AudioFileRow, HeardChordRow, HeardDoubleRow, MeasurementRow
from logbook.store.models.parts import PartRow
from logbook.store.models.places import SessionRow
from logbook.store.models.takes import TakeRow
from logbook.store.pinning import pin_pieces
from logbook.store.values import columns_for
from logbook.store.writing import flush, not_allowed, replace_list

_CHUNK = 500
_OWNERS = SHAPES["audio_file"].owners


class FileLine(NamedTuple):
    """One file of the log; at most one of take, part and version is set.

    `chunks` says whether it has a broadcast description or an iXML take, `shared` what
    it is of besides what it hangs on, as JSON.
    """

    id: int
    folder: str
    path: str
    digest: str
    size: int | None
    modified: int | None
    chunks: bool
    take_id: int | None
    part_id: int | None
    version_id: int | None
    codec: str = ""
    frames: int | None = None
    shared: str = ""
    rate_hz: int | None = None


class TakeOutline(NamedTuple):
    """One take; `session_id` is None where no session is said."""

    id: int
    part_id: int
    session_id: int | None
    number: int
    bars: str
    clock: str = ""
    result: str = ""


class PartLine(NamedTuple):
    """One part; `aliases` are what files call it too, with commas between."""

    id: int
    version_id: int
    name: str
    aliases: str = ""


class VersionLine(NamedTuple):
    """One version, with what its files are held against."""

    id: int
    song_id: int
    name: str
    sample_rate_hz: int | None
    bar_one_at: str


class SessionLine(NamedTuple):
    """One session, with what tells that a file is from it."""

    id: int
    name: str
    date: str
    end_date: str
    file_pattern: str


class Outline(NamedTuple):
    """The log in short; `last_command` is the number of the last command in its history."""

    songs: Mapping[int, str]
    versions: Mapping[int, VersionLine]
    parts: Mapping[int, PartLine]
    sessions: Mapping[int, SessionLine]
    takes: Sequence[TakeOutline]
    files: Sequence[FileLine]
    last_command: int


def read_outline(connection: Connection) -> Outline:
    """Read the outline: six queries, whatever the size of the log."""
    run = connection.exec_driver_sql
    versions = run("SELECT id, song_id, name, sample_rate_hz, bar_one_at FROM version ORDER BY id")
    parts = run("SELECT id, version_id, name, aliases FROM part ORDER BY id")
    sessions = run("SELECT id, name, date, end_date, file_pattern FROM session ORDER BY id")
    return Outline(
        songs={row[0]: row[1] for row in run("SELECT id, title FROM song ORDER BY id")},
        versions={row[0]: VersionLine(*row) for row in versions},
        parts={row[0]: PartLine(*row) for row in parts},
        sessions={row[0]: SessionLine(*row) for row in sessions},
        takes=[
            TakeOutline(*row)
            for row in run(
                "SELECT id, part_id, session_id, number, bars, clock, result FROM take ORDER BY id"
            )
        ],
        files=read_files(connection),
        last_command=last_command(connection),
    )


def read_files(connection: Connection) -> list[FileLine]:
    """Read every file of the log in short."""
    rows = connection.exec_driver_sql(
        "SELECT id, folder, path, digest, size, modified,"
        " (description <> '' OR ixml_take <> '' OR ixml_scene <> '' OR ixml_tracks <> ''),"
        " take_id, part_id, version_id, codec, frames, also, rate_hz FROM audio_file ORDER BY id"
    )
    return [FileLine(*row) for row in rows]


def last_command(connection: Connection) -> int:
    """Return the number of the last command in the history, 0 for none."""
    found = connection.exec_driver_sql("SELECT COALESCE(MAX(id), 0) FROM command").scalar()
    return int(found or 0)


def read_time(connection: Connection, version_id: int) -> Version:
    """Read a version with its meters, tempos and form, and nothing else that it holds."""
    (row,) = load(connection, "version", f"t.id = {version_id:d}", shallow=True)
    where = f"t.version_id = {version_id:d}"
    tables = {"meters": "meter_change", "tempos": "tempo_change", "form": "form"}
    held = {
        field: tuple(each.record for each in load(connection, table, where, shallow=True))
        for field, table in tables.items()
    }
    version: Version = dataclasses.replace(row.record, **held)
    return version


def read_records(connection: Connection, ids: Sequence[int]) -> dict[int, AudioFile]:
    """Read whole records of files, by row number."""
    found: dict[int, AudioFile] = {}
    for start in range(0, len(ids), _CHUNK):
        listed = ", ".join(f"{number:d}" for number in ids[start : start + _CHUNK])
        rows = load(connection, "audio_file", f"t.id IN ({listed})")
        found.update((row.id, row.record) for row in rows)
    return found


class NewTake(NamedTuple):
    """A take to be added, unrated."""

    part_id: int
    session_id: int | None
    number: int
    bars: str = ""
    clock: str = ""


def add_takes(change: Change, takes: Sequence[NewTake]) -> list[int]:
    """Add takes and return their row numbers, in order."""
    places = _Places(change, "take", "part_id", {take.part_id for take in takes})
    for take in takes:
        pin_pieces(change, take.part_id, take.number, take.session_id)
    rows = [
        TakeRow(**take._asdict(), position=places.next(take.part_id), result="", notes="")
        for take in takes
    ]
    change.session.add_all(rows)
    flush(change, SHAPES["take"], None)
    return [row.id for row in rows]


def take_for(change: Change, part_id: int, number: int, session: str = "") -> int:
    """The row of a part's take, which is added, unrated, where nobody logged it.

    Without a session the only take of this number is meant, or a new one of the only session.
    Raises LogbookError where several could be.
    """
    sessions = {
        row[0]: row[1]
        for row in change.connection.exec_driver_sql("SELECT id, name FROM session ORDER BY id")
    }
    rows = select(TakeRow).where(TakeRow.part_id == part_id, TakeRow.number == number)
    found = list(change.session.scalars(rows))
    if session:
        meant = pick(session, list(sessions.values()), "session")
        session_id = next(key for key, name in sessions.items() if name == meant)
        found = [row for row in found if row.session_id == session_id]
    elif len(found) > 1:
        named = " and ".join(sessions.get(row.session_id or 0, "no session") for row in found)
        raise LogbookError(f"take {number} is logged in {named}", "say which with --session")
    else:
        session_id = next(iter(sessions)) if len(sessions) == 1 else None
        if not found and len(sessions) > 1:
            raise LogbookError(
                f"take {number} is not logged, and there are {len(sessions)} sessions",
                "say which with --session",
            )
    if found:
        return int(found[0].id)
    return add_takes(change, [NewTake(part_id, session_id, number)])[0]


def name_part_too(change: Change, part_id: int, aliases: str) -> None:
    """Say what files call a part too."""
    row = change.session.get(PartRow, part_id)
    if row is not None and row.aliases != aliases:
        row.aliases = aliases
        change.session.flush()


def remember_pattern(change: Change, session_id: int, file_pattern: str) -> None:
    """Say how a session's recorder names its files."""
    row = change.session.get(SessionRow, session_id)
    if row is not None and row.file_pattern != file_pattern:
        row.file_pattern = file_pattern
        change.session.flush()


def learn_of_take(change: Change, take_id: int, bars: str, clock: str) -> None:
    """Say which bars a take covers and when it began, where nobody said it."""
    row = change.session.get(TakeRow, take_id)
    if row is not None:
        row.bars = row.bars or bars
        row.clock = row.clock or clock


def add_files(change: Change, files: Sequence[tuple[AudioFile, Mapping[str, int]]]) -> list[int]:
    """Add files, each with the owner column it hangs by (or none); return their row numbers."""
    shape = SHAPES["audio_file"]
    places = _owner_places(change, [owner for _, owner in files])
    rows = [
        {
            **columns_for(change, shape, record, {}, None),
            **owner,
            "position": _next(places, owner),
        }
        for record, owner in files
    ]
    ids = _add_rows(change, shape, rows)
    cues = [
        {
            **columns_for(change, SHAPES["cue"], cue, {}, None),
            "audio_file_id": row_id,
            "position": at,
        }
        for row_id, (record, _) in zip(ids, files, strict=True)
        for at, cue in enumerate(record.cues)
    ]
    _add_rows(change, SHAPES["cue"], cues)
    return ids


def _add_rows(change: Change, shape: Shape, rows: Sequence[Mapping[str, Any]]) -> list[int]:
    flush(change, shape, None)
    try:
        return add_rows(change, Base.metadata.tables[shape.table], rows)
    except IntegrityError as error:
        raise not_allowed(error, shape, None) from error


class FileChange(NamedTuple):
    """What becomes of a file of the log.

    `given` are the fields of `record` that count. `owner` is the owner column it now hangs by,
    None to leave it where it hangs. With `other_sound` what listening found is forgotten.
    """

    id: int
    record: AudioFile
    given: Collection[str]
    owner: Mapping[str, int] | None = None
    other_sound: bool = False


def change_files(change: Change, changes: Sequence[FileChange]) -> None:
    """Write changes in the given order, so that one file may take the place another leaves."""
    shape = SHAPES["audio_file"]
    rows = _rows_by_id(change, [each.id for each in changes])
    places = _owner_places(change, [each.owner for each in changes if each.owner])
    for each in changes:
        row: Any = rows.get(each.id)
        if row is None:
            continue
        for column, value in columns_for(change, shape, each.record, {}, each.given).items():
            if getattr(row, column) != value:
                setattr(row, column, value)
        if each.owner is not None:
            for column in _OWNERS:
                setattr(row, column, each.owner.get(column))
            row.position = _next(places, each.owner)
        flush(change, shape, each.record)
        if "cues" in each.given:
            owner = {"audio_file_id": each.id}
            replace_list(change, SHAPES["cue"], each.record.cues, owner)
        if each.other_sound:
            for model in (MeasurementRow, HeardDoubleRow, HeardChordRow):
                found = select(model).where(model.audio_file_id == each.id)
                for heard in change.session.scalars(found):
                    change.session.delete(heard)
    change.session.flush()


def _rows_by_id(change: Change, ids: Sequence[int]) -> dict[int, AudioFileRow]:
    rows: dict[int, AudioFileRow] = {}
    for start in range(0, len(ids), _CHUNK):
        chunk = select(AudioFileRow).where(AudioFileRow.id.in_(ids[start : start + _CHUNK]))
        rows.update((row.id, row) for row in change.session.scalars(chunk))
    return rows


def _owner_places(change: Change, owners: Iterable[Mapping[str, int]]) -> dict[str, _Places]:
    """Counters of places for every owner column that occurs; "" counts what hangs on nothing."""
    by_column: dict[str, set[int]] = {}
    for owner in owners:
        column, owner_id = next(iter(owner.items()), ("", 0))
        by_column.setdefault(column, set()).add(owner_id)
    return {column: _Places(change, "audio_file", column, ids) for column, ids in by_column.items()}


def _next(places: Mapping[str, _Places], owner: Mapping[str, int]) -> int:
    column, owner_id = next(iter(owner.items()), ("", 0))
    return places[column].next(owner_id)


class _Places:
    """Counts on from the last place in each owner's list."""

    def __init__(self, change: Change, table: str, column: str, ids: Collection[int]) -> None:
        self._next: dict[int, int] = {}
        head = f'SELECT {column or 0}, MAX(position) + 1 FROM "{table}" WHERE '
        if not column:
            loose = " AND ".join(f"{each} IS NULL" for each in _OWNERS)
            self._learn(change, head + loose)
            return
        wanted = sorted(ids)
        for start in range(0, len(wanted), _CHUNK):
            listed = ", ".join(f"{number:d}" for number in wanted[start : start + _CHUNK])
            self._learn(change, f"{head}{column} IN ({listed}) GROUP BY {column}")

    def _learn(self, change: Change, statement: str) -> None:
        for owner_id, place in change.connection.exec_driver_sql(statement):
            self._next[owner_id] = place or 0

    def next(self, owner_id: int) -> int:
        place = self._next.get(owner_id, 0)
        self._next[owner_id] = place + 1
        return place
