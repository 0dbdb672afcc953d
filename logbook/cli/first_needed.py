"""A new song can be recorded on at once: its version and part are made when first needed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logbook.cli.noun_owners import owners_of
from logbook.cli.printing import remark, shell_word

if TYPE_CHECKING:
    from logbook.store.changing import Change

FIRST_VERSION = "recording"
FIRST_PART = "guitar"


def see_to_place(change: Change, word: str, whose: Mapping[str, str]) -> None:
    """Make the version and the part that a new record of a noun goes into, if there are none.

    What is named and not there is left to whoever looks for it.
    """
    from logbook.records import Part
    from logbook.store.finding import LogPlace, exactly, find, names_in
    from logbook.store.here import move_here, read_here
    from logbook.store.writing import put

    owners = owners_of(word)
    if ("version" not in owners and "part" not in owners) or "log" in owners:
        return
    here = read_here(change.connection)
    name = whose.get("song") or here.song
    if not name:
        return
    song = find(change.connection, "song", name)
    made = first_version(change, song.name)
    versions = names_in(change.connection, "version", song.id)
    if "part" not in owners or whose.get("part") or len(versions) != 1:
        return
    version = exactly(change.connection, "version", versions[0], song.id)
    if version is None or names_in(change.connection, "part", version.id):
        return
    put(change, Part(name=FIRST_PART), LogPlace(song.name, version.name))
    if made or here.song == song.name:
        place = LogPlace(song.name, version.name, FIRST_PART, session=here.session)
        move_here(change.connection, place)
    remark(f"part {FIRST_PART} was made; to name it: logbook part edit {FIRST_PART} --name NAME")


def first_version(change: Change, title: str) -> bool:
    """Make a song's first version, where it has none; say whether that was so."""
    from logbook.records import Version
    from logbook.store.finding import LogPlace, find, names_in
    from logbook.store.writing import put

    song = find(change.connection, "song", title)
    if names_in(change.connection, "version", song.id):
        return False
    put(change, Version(name=FIRST_VERSION), LogPlace(song.name))
    remark(
        f"version {FIRST_VERSION} of {song.name} was made; to name it:"
        f" logbook version edit {FIRST_VERSION} --song {shell_word(song.name)} --name NAME"
    )
    return True
