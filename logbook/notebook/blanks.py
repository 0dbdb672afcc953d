"""A record with nothing said in it, and what a new one takes over from an old."""

from __future__ import annotations

from dataclasses import MISSING, fields
from functools import cache
from typing import Any

from logbook.notebook.declare import (
    Field,
    Noun,
    Record,
    default_of,
)
from logbook.notebook.nouns import NOUNS

_BLANKS: dict[str, Any] = {"str": "", "int": 0, "float": 0.0}


def with_values(record: Record, values: dict[str, Any]) -> Record:
    """The record with other values; made without its initializer, since a file has thousands."""
    made = object.__new__(type(record))
    made.__dict__.update(record.__dict__, **values)
    return made


@cache
def blank(noun: Noun) -> Record:
    """Return a record of a noun of which nothing is said yet."""
    needed = {
        each.name: _BLANKS.get(str(each.type), 0)
        for each in fields(noun.record)
        if default_of(noun.record, each.name) is MISSING
    }
    return noun.record(**needed)


def default_of_blank(each: Field) -> Any:
    """Return what stands in for a value that could not be read, so that reading can go on."""
    return ""


def joined_with(noun: Noun, old: Record | None, given: dict[str, Any]) -> dict[str, Any]:
    """Join what a line gives of a collection to what already exists."""
    joined = dict(given)
    for member in noun.collections:
        if old is not None and member.attribute in given and not member.whole:
            inner = NOUNS[member.noun]
            both = (*getattr(old, member.attribute), *given[member.attribute])
            joined[member.attribute] = tuple({inner.key_of(each): each for each in both}.values())
    return joined
