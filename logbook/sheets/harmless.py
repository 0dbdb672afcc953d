"""Records with every text made safe to print, before a sheet is worked out from them."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any, TypeVar

from logbook.plaintext import clean

Kept = TypeVar("Kept")


def harmless(value: Kept) -> Kept:
    """Return a record, or records in tuples, lists and dictionaries, of harmless text alone.

    No text acts on a terminal then; line breaks become blanks. Whatever is harmless already is
    the same object.
    """
    made: Kept = _harmless(value)
    return made


def _harmless(value: Any) -> Any:
    if isinstance(value, str):
        if value.isprintable():
            return value
        cleaned = clean(value)
        return value if cleaned == value else cleaned
    if value is None or isinstance(value, int | float):
        return value
    if isinstance(value, tuple | list):
        made = [_harmless(each) for each in value]
        if all(new is old for new, old in zip(made, value, strict=True)):
            return value
        return value._make(made) if hasattr(value, "_make") else type(value)(made)
    if isinstance(value, dict):
        return {_harmless(key): _harmless(each) for key, each in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        changed = {
            name: new
            for name in _given(type(value))
            if (new := _harmless(old := getattr(value, name))) is not old
        }
        return replace(value, **changed) if changed else value
    return value


@cache
def _given(kind: type[Any]) -> tuple[str, ...]:
    """The names of what a record of this kind is made with."""
    return tuple(field.name for field in fields(kind) if field.init)
