"""A version's form changed in the log, with all that moves along, in the caller's transaction."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from logbook.records import Part, Version
from logbook.records.form_edits import Edited
from logbook.records.form_pieces import drawn_along
from logbook.store.drawn import pieces_elsewhere
from logbook.store.editing import edit
from logbook.store.finding import LogPlace, find_owner
from logbook.store.loading import load
from logbook.store.models.parts import PartRow
from logbook.store.models.songs import VersionRow
from logbook.store.writing import put

if TYPE_CHECKING:
    from logbook.store.changing import Change

VERSION_LISTS = ("form", "meters", "tempos", "lyrics")
PART_LISTS = ("chart", "melody", "votes", "technique_notes", "overdubs", "reused")


def carry_form(change: Change, place: LogPlace, old: Version, new: Edited) -> tuple[str, ...]:
    """Write an edited form: what differs in the version at `place` and in its parts.

    Comps of other versions that draw on it follow its bars. What cannot simply move is returned,
    a sentence each.
    """
    version = find_owner(change.connection, "version", place)
    fields_of = _differing(old, new.version, VERSION_LISTS)
    if fields_of:
        edit(change, version, fields_of)
    for before in old.parts:
        after = next(each for each in new.version.parts if each.name == before.name)
        if before != after:
            _carry_part(change, place._replace(part=before.name), before, after)
    return (*new.told, *_carry_drawn(change, place, version.id, new))


def _carry_drawn(change: Change, place: LogPlace, version_id: int, new: Edited) -> tuple[str, ...]:
    """Let comps of the song's other versions follow the bars they take from this one."""
    song_id = change.session.get_one(VersionRow, version_id).song_id
    told: list[str] = []
    names = {
        (change.session.get_one(VersionRow, part.version_id).name, part.name)
        for each in pieces_elsewhere(change, [song_id])
        if each.row.from_version
        for part in [change.session.get_one(PartRow, each.part_id)]
        if part.version_id != version_id
    }
    for version, name in sorted(names):
        there = place._replace(version=version, part=name)
        found = find_owner(change.connection, "part", there)
        part = load(change.connection, "part", f"t.id = {found.id:d}")[0].record
        moved = drawn_along(part, version, new.version.name, new.place, told)
        _carry_part(change, there, part, moved)
    return tuple(told)


def _carry_part(change: Change, place: LogPlace, before: Part, after: Part) -> None:
    part = find_owner(change.connection, "part", place)
    lists = _differing(before, after, PART_LISTS)
    if lists:
        edit(change, part, lists)
    for take, moved in zip(before.takes, after.takes, strict=True):
        if take != moved:
            put(change, moved, place, {"bars", "punch_ins"})
    for comp, moved_comp in zip(before.comps, after.comps, strict=True):
        if comp != moved_comp:
            put(change, moved_comp, place, {"pieces"})


def _differing(old: Any, new: Any, names: tuple[str, ...]) -> dict[str, Any]:
    known = {each.name for each in fields(old)}
    return {
        name: getattr(new, name)
        for name in names
        if name in known and getattr(old, name) != getattr(new, name)
    }
