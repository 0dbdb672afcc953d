"""The log as a working copy while a session file is read: what is known, and what is new."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from logbook.names import spelling
from logbook.notebook.declare import Known, Record
from logbook.notebook.nouns import LOG, NOUNS
from logbook.records import Log

Name = Any
"""What tells a record from its siblings: its name alone, or a tuple where it takes several."""


def name_of(noun: str, record: Record) -> Name:
    """Return what tells a record of a noun from its siblings."""
    key = NOUNS[noun].key_of(record)
    return key[0] if len(key) == 1 else key


def found_by(records: Mapping[Name, Record], name: Name) -> Record | None:
    """Return the record of this name: as it is written, else in another spelling of it."""
    if name in records:
        return records[name]
    wanted = _spelling(name)
    return next((each for other, each in records.items() if _spelling(other) == wanted), None)


def _spelling(name: Name) -> Name:
    if isinstance(name, tuple):
        return tuple(map(_spelling, name))
    return spelling(name) if isinstance(name, str) else name


class LogKnown:
    """A log in memory, to look things up in."""

    def __init__(self, log: Log) -> None:
        self._records: dict[str, dict[Name, Record]] = {
            each.noun: {
                name_of(each.noun, record): record for record in getattr(log, each.attribute)
            }
            for each in LOG.collections
        }

    def names(self, noun: str) -> Sequence[str]:
        """Return the names of all records of a noun, in the log's order."""
        return tuple(self._records[noun])

    def find(self, noun: str, name: Name) -> Record | None:
        """Return the record of this name, in any spelling of it, or None."""
        return found_by(self._records[noun], name)

    def add(self, noun: str, record: Record) -> None:
        """Take in a record, in place of one of the same name."""
        self._records[noun][name_of(noun, record)] = record


class WorkingCopy:
    """What is known, under what a file says: the file's word goes first."""

    def __init__(self, known: Known) -> None:
        self._known = known
        self._new: dict[str, dict[Name, Record]] = {each.noun: {} for each in LOG.collections}
        self._names: dict[str, tuple[tuple[int, int], tuple[str, ...]]] = {}
        self.implied: list[tuple[str, Record]] = []

    def names(self, noun: str) -> Sequence[str]:
        """Return the names of all records of a noun, known ones first."""
        known, new = self._known.names(noun), self._new[noun]
        counted = len(known), len(new)
        if noun not in self._names or self._names[noun][0] != counted:
            self._names[noun] = counted, tuple(dict.fromkeys((*known, *new)))
        return self._names[noun][1]

    def find(self, noun: str, name: Name) -> Record | None:
        """Return the record of this name as it is by now, or None."""
        return self._new[noun].get(name) or self._known.find(noun, name)

    def add(self, noun: str, record: Record) -> None:
        """Take in what was only implied, such as a usual tuning."""
        self.implied.append((noun, record))
        self.put(noun, record)

    def put(self, noun: str, record: Record) -> None:
        """Lay down a record that the file speaks of."""
        self._new[noun][name_of(noun, record)] = record

    def records(self, noun: str) -> tuple[Record, ...]:
        """Return the records of a noun that the file speaks of or implies, in its order."""
        return tuple(self._new[noun].values())
