"""What files are of besides what they hang on, kept true where the log calls it otherwise.

Such a place is written by names (`logbook.records.shared`). When a song, version, part or session
gets another name, the names follow; when it goes, they go.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import select, text

from logbook.names import alike
from logbook.store.finding import NAME_COLUMNS
from logbook.store.models.files import AudioFileRow

if TYPE_CHECKING:
    from logbook.store.changing import Change

_PLACES = ("song", "version", "part", "take", "session", "microphone")
_FOLLOWED = ("song", "version", "part", "session")


class _Renamed(NamedTuple):
    """What a row was called, what it is called now (None: it is gone), and its song and version."""

    kind: str
    old: str
    new: str | None
    song: str
    version: str


def follow_names(change: Change) -> None:
    """Let the names follow what this transaction renamed or took out."""
    noted = [each for each in change.noted if each.kind in _FOLLOWED and each.action != "added"]
    renamed = [found for each in noted if (found := _renamed(change, each)) is not None]
    if not renamed:
        return
    for row in change.session.scalars(select(AudioFileRow).where(AudioFileRow.also != "")):
        entries = [list(each) for each in json.loads(row.also)]
        own = _own(change, row)
        kept = [said for each in entries if (said := _now(each, own, renamed)) is not None]
        if kept != entries:
            row.also = json.dumps(kept, ensure_ascii=False) if kept else ""
    change.session.flush()


def _renamed(change: Change, noted: Any) -> _Renamed | None:
    column = NAME_COLUMNS[noted.kind]
    before = json.loads(noted.before or "{}")
    if column not in before:
        return None
    after = None if noted.action == "removed" else json.loads(noted.after or "{}").get(column)
    song = version = ""
    if noted.kind == "version":
        owner = before.get("song_id") or _value(change, "version", "song_id", noted.row_id)
        song = str(_value(change, "song", "title", owner) or "")
    elif noted.kind == "part":
        owner = before.get("version_id") or _value(change, "part", "version_id", noted.row_id)
        version = str(_value(change, "version", "name", owner) or "")
        song = str(
            _value(change, "song", "title", _value(change, "version", "song_id", owner)) or ""
        )
    return _Renamed(noted.kind, str(before[column]), after, song, version)


def _value(change: Change, table: str, column: str, row_id: Any) -> Any:
    if not row_id:
        return None
    statement = text(f'SELECT "{column}" FROM "{table}" WHERE id = :id')
    return change.connection.execute(statement, {"id": row_id}).scalar()


def _own(change: Change, row: AudioFileRow) -> tuple[str, str]:
    """The song and version that a file attach-alls in, empty where it hangs on nothing."""
    part_id = row.part_id or _value(change, "take", "part_id", row.take_id)
    version_id = row.version_id or _value(change, "part", "version_id", part_id)
    song_id = _value(change, "version", "song_id", version_id)
    return (
        str(_value(change, "song", "title", song_id) or ""),
        str(_value(change, "version", "name", version_id) or ""),
    )


def _now(entry: list[str], own: tuple[str, str], renamed: list[_Renamed]) -> list[str] | None:
    """An entry with the names of now; None where what it names is gone."""
    said = dict(zip(_PLACES, entry, strict=False))
    song = said["song"] or own[0]
    version = said["version"] or (own[1] if alike(song, own[0]) else "")
    for each in renamed:
        if not alike(said[each.kind], each.old):
            continue
        inside = each.kind in ("version", "part") and each.song and not alike(song, each.song)
        if inside or (each.kind == "part" and version and not alike(version, each.version)):
            continue
        if each.new is None:
            return None
        said[each.kind] = each.new
    return list(said.values())
