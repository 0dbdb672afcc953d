"""The words by which the index of a book finds a page: whatever searching the log would find."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import fields, is_dataclass
from functools import lru_cache
from typing import Any

from logbook.plaintext import clean

_FIELDS = """
    title name notes technique chain doubled_why text label why path description full_name
    credited_as other_names place gear kind device settings used_for caption mix delivered_to
    files phrase source microphone preamp pad placed
"""
SEARCHED = frozenset(_FIELDS.split())
"""The fields that hold words to be found, wherever they stand in a record."""


def words_in(record: object) -> str:
    """Return the words of a record and of all that it holds, each text once."""
    return clean(" ".join(dict.fromkeys(_texts(record))))


def _texts(record: object) -> Iterator[str]:
    kind: Hashable = type(record)
    for name, searched in _fields(kind):
        value = getattr(record, name)
        if isinstance(value, str):
            if searched and value:
                yield value
        elif isinstance(value, tuple):
            for each in value:
                if isinstance(each, str):
                    if searched and each:
                        yield each
                elif is_dataclass(each):
                    yield from _texts(each)
        elif is_dataclass(value):
            yield from _texts(value)


@lru_cache(maxsize=128)
def _fields(kind: Any) -> tuple[tuple[str, bool], ...]:
    return tuple((field.name, field.name in SEARCHED) for field in fields(kind))
