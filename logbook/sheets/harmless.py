"""Records with every text made safe to print, before a sheet is worked out from them."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from logbook.plaintext import clean

Kept = TypeVar("Kept")


def harmless(value: Kept) -> Kept:
    """Return a record (or a tuple of records) in which no text acts on a terminal.

    Line breaks become blanks. Whatever is harmless already is the same object.
    """
    made: Kept = _harmless(value)
    return made


def _harmless(value: Any) -> Any:
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, tuple):
        made = tuple(map(_harmless, value))
        return value if all(new is old for new, old in zip(made, value, strict=True)) else made
    if is_dataclass(value) and not isinstance(value, type):
        changed = {
            field.name: new
            for field in fields(value)
            if (new := _harmless(old := getattr(value, field.name))) is not old
        }
        return replace(value, **changed) if changed else value
    return value
