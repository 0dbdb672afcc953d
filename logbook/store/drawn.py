"""Comp pieces that draw on another version's takes or on a finished file, kept true by name.

Conventions. Such a piece names its version, part, take and file as somebody wrote them down, so
that a mistaken name can be held and told. Where a name did mean something before a transaction,
it means the same thing after it: the piece follows a rename, a move or a new number, and what a
piece draws on cannot be removed without it. A world is rows by kind and number, as plain columns.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import or_, select

from logbook.names import alike
from logbook.records.elsewhere import files_meant
from logbook.records.files import AudioFile
from logbook.store.errors import HangsOnError
from logbook.store.models import MODELS
from logbook.store.models.parts import PartRow
from logbook.store.models.songs import VersionRow
from logbook.store.models.takes import CompPieceRow, CompRow

if TYPE_CHECKING:
    from logbook.store.changing import Change

World = dict[str, dict[int, dict[str, Any]]]

# What a piece may draw on, and the columns by which it is found.
COLUMNS = {
    "version": ("song_id", "name"),
    "part": ("version_id", "name"),
    "take": ("part_id", "number", "session_id"),
    "audio_file": ("version_id", "part_id", "path", "digest"),
}
_NAMING = frozenset({"from_version", "from_part", "from_file", "take", "session_id"})


class DrawingPiece(NamedTuple):
    """A piece that draws on something elsewhere, with the part its comp belongs to."""

    row: CompPieceRow
    comp: str
    part_id: int

    def said(self, world: World) -> str:
        """What a person calls it: "bars 1-8 of comp of guitar, radio"."""
        part = world["part"][self.part_id]
        version = world["version"][part["version_id"]]["name"]
        many = "bars" if "-" in self.row.bars else "bar"
        return f"{many} {self.row.bars} of {self.comp} of {part['name']}, {version}"


class DrawnOn(NamedTuple):
    """The rows a piece draws on: always a version, and a part's take or a file."""

    version: int
    part: int | None
    take: int | None
    file: int | None

    @property
    def rows(self) -> set[tuple[str, int]]:
        """The same as pairs of kind and number."""
        each = zip(("version", "part", "take", "audio_file"), self, strict=True)
        return {(kind, row) for kind, row in each if row is not None}


def pieces_elsewhere(change: Change, songs: Iterable[int]) -> list[DrawingPiece]:
    """The pieces in comps of these songs that draw on more than their own part's takes."""
    found: list[DrawingPiece] = []
    for some in _portions(songs):
        statement = (
            select(CompPieceRow, CompRow.name, CompRow.part_id)
            .join(CompRow, CompRow.id == CompPieceRow.comp_id)
            .join(PartRow, PartRow.id == CompRow.part_id)
            .join(VersionRow, VersionRow.id == PartRow.version_id)
            .where(
                VersionRow.song_id.in_(some),
                or_(
                    CompPieceRow.from_version != "",
                    CompPieceRow.from_part != "",
                    CompPieceRow.from_file != "",
                ),
            )
            .order_by(CompPieceRow.id)
        )
        found += [DrawingPiece(*row) for row in change.session.execute(statement)]
    return found


def world_of(change: Change, songs: Iterable[int]) -> World:
    """All that pieces of these songs may draw on, as it stands now."""
    world: World = {kind: {} for kind in COLUMNS}
    for some in _portions(songs):
        version = _read(change, "version", "song_id", some)
        parts = _read(change, "part", "version_id", version)
        takes = _read(change, "take", "part_id", parts)
        files = _read(change, "audio_file", "version_id", version)
        files |= _read(change, "audio_file", "part_id", parts)
        for kind, rows in zip(COLUMNS, (version, parts, takes, files), strict=True):
            world[kind] |= rows
    return world


def _read(change: Change, kind: str, above: str, ids: Iterable[int]) -> dict[int, dict[str, Any]]:
    table: Any = MODELS[kind].__table__
    found: dict[int, dict[str, Any]] = {}
    for some in _portions(ids):
        statement = select(table.c.id, *(table.c[name] for name in COLUMNS[kind]))
        for row in change.connection.execute(statement.where(table.c[above].in_(some))):
            found[row.id] = {name: getattr(row, name) for name in COLUMNS[kind]}
    return found


def _portions(ids: Iterable[int]) -> list[list[int]]:
    wanted = sorted(ids)
    return [wanted[start : start + 500] for start in range(0, len(wanted), 500)]


def target_of(
    world: World, piece: DrawingPiece, said: Mapping[str, Any] | None = None
) -> DrawnOn | None:
    """The rows a piece means, by its own words or those `said`; None where they are not clear."""
    words = said or {name: getattr(piece.row, name) for name in _NAMING}
    own = world["part"].get(piece.part_id)
    if own is None or own["version_id"] not in world["version"]:
        return None
    version: int | None = own["version_id"]
    if words["from_version"]:
        song = world["version"][own["version_id"]]["song_id"]
        version = next(
            (
                row
                for row, each in world["version"].items()
                if each["song_id"] == song and alike(each["name"], words["from_version"])
            ),
            None,
        )
    if version is None:
        return None
    file = words["from_file"]
    part = None
    if not file or file == "bounce" or words["from_part"]:
        name = words["from_part"] or own["name"]
        part = next(
            (
                row
                for row, each in world["part"].items()
                if each["version_id"] == version and alike(each["name"], name)
            ),
            None,
        )
        if part is None:
            return None
    if file:
        meant = _file(world, version, part, file)
        return None if meant is None else DrawnOn(version, part, None, meant)
    same = [
        row
        for row, each in world["take"].items()
        if (each["part_id"], each["number"]) == (part, words["take"])
    ]
    exact = [row for row in same if world["take"][row]["session_id"] == words["session_id"]]
    if not exact and (len(same) != 1 or words["session_id"]):
        return None
    return DrawnOn(version, part, (exact or same)[0], None)


def _file(world: World, version: int, part: int | None, word: str) -> int | None:
    column, owner = ("version_id", version) if part is None else ("part_id", part)
    records = {
        row: AudioFile(path=each["path"], digest=each["digest"])
        for row, each in sorted(world["audio_file"].items())
        if each[column] == owner
    }
    meant = files_meant(tuple(records.values()), word)
    if len(meant) != 1:
        return None
    return next(row for row, record in records.items() if record is meant[0])


# Before something is removed


def drawing_on(change: Change, rows: set[tuple[str, int]], songs: Iterable[int]) -> list[str]:
    """Say which pieces draw on any of the rows and are not among them."""
    pieces = [e for e in pieces_elsewhere(change, songs) if ("comp_piece", e.row.id) not in rows]
    if not pieces:
        return []
    world = world_of(change, songs)
    found = [(each, target_of(world, each)) for each in pieces]
    return [each.said(world) for each, target in found if target and target.rows & rows]


# After rows were written


def follow(change: Change) -> None:
    """Let pieces follow what this transaction renamed, moved or numbered anew.

    Raises HangsOnError where it removed what a piece draws on.
    """
    touched = [each for each in change.noted if _may_matter(each)]
    if not touched:
        return
    songs = {each.song_id for each in touched if each.song_id is not None} | change.songs_left
    # What was written just now was written with the names of now.
    fresh = {
        each.row_id
        for each in change.noted
        if each.kind == "comp_piece"
        and (each.action == "added" or _NAMING & set(json.loads(each.after or "{}")))
    }
    pieces = [each for each in pieces_elsewhere(change, songs) if each.row.id not in fresh]
    if not pieces:
        return
    after = world_of(change, songs)
    before = _before(after, touched)
    labels = {(each.kind, each.row_id): each.label for each in touched}
    for piece in pieces:
        target = target_of(before, piece)
        if target is None or piece.part_id not in after["part"]:
            continue
        said = _said(after, before, piece, target)
        if said is None:
            _refuse(after, piece, target, labels)
        else:
            for name, value in said.items():
                if getattr(piece.row, name) != value:
                    setattr(piece.row, name, value)
    change.session.flush()


def _may_matter(noted: Any) -> bool:
    if noted.kind not in COLUMNS:
        return False
    if noted.action == "changed":
        return bool(set(COLUMNS[noted.kind]) & set(json.loads(noted.before or "{}")))
    return noted.action == "removed" or noted.kind in ("take", "audio_file")


def _before(after: World, touched: list[Any]) -> World:
    """The world before what was noted: what came is gone, what went is back."""
    world = {kind: {row: dict(each) for row, each in after[kind].items()} for kind in after}
    for noted in reversed(touched):
        rows = world[noted.kind]
        if noted.action == "added":
            rows.pop(noted.row_id, None)
            continue
        old = json.loads(noted.before or "{}")
        columns = {name: old[name] for name in COLUMNS[noted.kind] if name in old}
        if noted.action == "removed" or noted.row_id in rows:
            rows[noted.row_id] = rows.get(noted.row_id, {}) | columns
    return world


def _said(
    after: World, before: World, piece: DrawingPiece, target: DrawnOn
) -> dict[str, Any] | None:
    """The words by which a piece means the same as before; None where that is gone."""
    own = after["part"][piece.part_id]
    row = piece.row
    said: dict[str, Any] = {name: getattr(row, name) for name in _NAMING}
    version, part = target.version, target.part
    if target.take is not None:
        take = after["take"].get(target.take)
        if take is None:
            return None
        part = take["part_id"]
        said["take"] = take["number"]
        shared = [e for e in after["take"].values() if _numbered(e) == _numbered(take)]
        if row.session_id is not None or len(shared) > 1:
            said["session_id"] = take["session_id"]
    if part is not None:
        if part not in after["part"]:
            return None
        version = after["part"][part]["version_id"]
    if version not in after["version"]:
        return None
    name = after["version"][version]["name"]
    if (row.from_version or version != own["version_id"]) and not alike(name, row.from_version):
        said["from_version"] = name
    if part is not None:
        name = after["part"][part]["name"]
        if not alike(name, row.from_part or own["name"]):
            said["from_part"] = name
    if target.file is None or target_of(after, piece, said) == target._replace(version=version):
        return said
    return _file_said(after, before, piece, target._replace(version=version), said)


def _numbered(take: dict[str, Any]) -> tuple[int, int]:
    return take["part_id"], take["number"]


def _file_said(
    after: World, before: World, piece: DrawingPiece, target: DrawnOn, said: dict[str, Any]
) -> dict[str, Any] | None:
    """The same for a finished file: by its name, or all of its path, where a word is not clear."""
    assert target.file is not None
    old = before["audio_file"][target.file]
    now = after["audio_file"].get(target.file)
    if now is None:
        # A copy of the same sound may stand in for it.
        other = target_of(after, piece, said)
        copy = after["audio_file"][other.file] if other and other.file else None
        return said if copy and copy["digest"] and copy["digest"] == old["digest"] else None
    for word in (now["path"].rpartition("/")[2], now["path"]):
        again = said | {"from_file": word}
        if target_of(after, piece, again) == target:
            return again
    return None


def _refuse(
    after: World, piece: DrawingPiece, target: DrawnOn, labels: Mapping[tuple[str, int], str]
) -> None:
    kinds = ("version", "part", "take", "audio_file")
    label = next((labels[e] for e in sorted(target.rows, key=lambda e: kinds.index(e[0]))
                  if e in labels), "what a comp draws on")  # fmt: skip
    raise HangsOnError(
        f"{label} is used by {piece.said(after)}",
        "change that comp first; nothing was changed",
        {},
        {"comp_piece": 1},
    )
