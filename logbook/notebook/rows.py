"""Rows of an exported log, every field read by the readers of the session file.

Conventions
-----------
A row stands by itself here, so what its fields say is judged by itself: how it is written, and
within which bounds. What depends on what stands around it (a section's or a voicing's name, a fret
behind a capo) is for `check` to say, as with a session file's `as_logged`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

from logbook.errors import LogbookError
from logbook.notebook.declare import Context, Field, Noun, default_of
from logbook.notebook.nouns import NOUNS
from logbook.notebook.working_copy import LogKnown
from logbook.records import Log
from logbook.store.layout import SHAPES, TABLE_OF, StoredField
from logbook.store.loading import stored_list

# Where these stand decides what they may say.
_AROUND = frozenset({("role", "role"), ("version", "pickup")})


class _Read(NamedTuple):
    """A field and where its values lie in a row."""

    field: Field
    stored: tuple[StoredField, ...]
    usual: tuple[Any, ...]


def row_reader() -> Callable[[str, Mapping[str, Any]], None]:
    """Return what reads a row of a table: it raises LogbookError for the first wrong field.

    The error's problem begins with the field's name. A value is read once, however often it comes.
    """
    context = Context(known=LogKnown(Log()), folder=None, session=None)
    read: set[tuple[str, str, Any]] = set()

    def check(table: str, row: Mapping[str, Any]) -> None:
        for each in _fields(table):
            values = tuple(_value(stored, row) for stored in each.stored)
            if values == each.usual:
                continue
            known = (table, each.field.key, (values, tuple(map(type, values))))
            if known in read:
                continue
            _check(each.field, values, context)
            if len(read) < 100_000:
                read.add(known)

    return check


def _check(field: Field, values: tuple[Any, ...], context: Context) -> None:
    try:
        said = field.write(*values) if field.write is not None else values[0]
        field.values_of(list(said) if isinstance(said, tuple) else said, context)
    except LogbookError as error:
        if error.problem.startswith("no ") and " is called " in error.problem:
            return  # It names something that stands elsewhere in the file.
        remedy = error.remedy or f'write it like "{field.example}"'
        raise LogbookError(f"{field.key}: {error.problem}", remedy) from error
    except (TypeError, ValueError, AttributeError, KeyError, IndexError) as error:
        raise LogbookError(
            f"{field.key} cannot be read", f'write it like "{field.example}"'
        ) from error


@cache
def _fields(table: str) -> tuple[_Read, ...]:
    noun = _nouns().get(table)
    if noun is None:
        return ()
    shape = SHAPES[table]
    found = []
    for field in noun.fields:
        stored = tuple(each for each in shape.fields if each.name in field.attributes)
        plain = all(each.kind in ("plain", "bool", "json", "share") for each in stored)
        if not plain or not stored or (table, field.key) in _AROUND:
            continue
        usual = tuple(default_of(noun.record, each.name) for each in stored)
        found.append(_Read(field, stored, usual))
    return tuple(found)


@cache
def _nouns() -> dict[str, Noun]:
    return {TABLE_OF[noun.record]: noun for noun in NOUNS.values() if noun.record in TABLE_OF}


def _value(stored: StoredField, row: Mapping[str, Any]) -> Any:
    given = row[stored.columns[0]]
    if stored.kind == "json":
        return stored_list(given)
    if stored.kind == "share":
        below = row[stored.columns[1]]
        if not below:
            raise LogbookError("share has nothing below its line", "write a share like 1/2")
        return Fraction(given, below)
    return given
