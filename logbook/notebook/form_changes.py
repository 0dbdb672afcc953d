"""A version's form changed in the log, with all that moves along, in the caller's transaction."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from logbook.records import Part, Version
from logbook.records.form_edits import Edited
from logbook.store.editing import edit
from logbook.store.finding import LogPlace, find_owner
from logbook.store.writing import put

if TYPE_CHECKING:
    from logbook.store.changing import Change

VERSION_LISTS = ("form", "meters", "tempos", "lyrics")
PART_LISTS = ("chart", "votes", "technique_notes", "overdubs", "reused")


def carry_form(change: Change, place: LogPlace, old: Version, new: Edited) -> None:
    """Write an edited form: what differs in the version at `place` and in its parts."""
    version = find_owner(change.connection, "version", place)
    fields_of = _differing(old, new.version, VERSION_LISTS)
    if fields_of:
        edit(change, version, fields_of)
    for before in old.parts:
        after = next(each for each in new.version.parts if each.name == before.name)
        if before != after:
            _carry_part(change, place._replace(part=before.name), before, after)


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
