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
    kind: Any = type(value)
    if kind is str and value.isprintable():
        return value
    names = _given(kind)
    if names is not None:
        changed = {}
        for name in names:
            old = getattr(value, name)
            # Nearly all that a record holds is plain text and numbers: a log has millions of them.
            if type(old) in _PLAIN or (type(old) is str and old.isprintable()):
                continue
            if (new := _harmless(old)) is not old:
                changed[name] = new
        return replace(value, **changed) if changed else value
    if isinstance(value, str):
        cleaned = clean(value)
        return value if cleaned == value else cleaned
    if isinstance(value, tuple | list):
        made = [_harmless(each) for each in value]
        if all(new is old for new, old in zip(made, value, strict=True)):
            return value
        return value._make(made) if hasattr(value, "_make") else type(value)(made)
    if isinstance(value, dict):
        return {_harmless(key): _harmless(each) for key, each in value.items()}
    return value


_PLAIN = frozenset({int, float, bool, type(None)})


@cache
def _given(kind: type[Any]) -> tuple[str, ...] | None:
    """The names of what a record of this kind is made with; None for what is no record."""
    if not is_dataclass(kind):
        return None
    return tuple(field.name for field in fields(kind) if field.init)
