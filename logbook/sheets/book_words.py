"""The words by which the index of a book finds a page: whatever searching the log would find."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from logbook.plaintext import clean

_FIELDS = """
    title name notes technique chain doubled_why text label why path description full_name
    credited_as other_names place gear kind device settings used_for caption mix delivered_to
    files phrase source microphone preamp pad placed originator tags ixml_take ixml_note
    ixml_scene ixml_tracks
"""
SEARCHED = frozenset(_FIELDS.split())
"""The fields that hold words to be found, wherever they stand in a record."""


def words_in(record: object) -> str:
    """Return the words of a record and of all that it holds, each text once."""
    found: dict[str, None] = {}
    _collect(record, found)
    return clean(" ".join(found))


def _collect(record: object, found: dict[str, None]) -> None:
    """Put the texts of a record and of all that it holds behind those found."""
    for name, searched in _fields_of(record):
        value = getattr(record, name)
        if value is None or value == ():
            continue
        if isinstance(value, str):
            if searched and value:
                found[value] = None
        elif isinstance(value, tuple):
            for each in value:
                if isinstance(each, str):
                    if searched and each:
                        found[each] = None
                elif is_dataclass(each):
                    _collect(each, found)
        elif is_dataclass(value):
            _collect(value, found)


_KNOWN: dict[str, tuple[tuple[str, bool], ...]] = {}


def _fields_of(record: Any) -> tuple[tuple[str, bool], ...]:
    """The fields of a record's kind, and whether each is searched; a book asks this very often."""
    kind = type(record)
    known = _KNOWN.get(kind.__qualname__)
    if known is None:
        found = tuple((field.name, field.name in SEARCHED) for field in fields(kind))
        known = _KNOWN[kind.__qualname__] = found
    return known
