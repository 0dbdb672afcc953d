"""A sheet as JSON: the whole of its plain data, under stable names."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from fractions import Fraction
from typing import Any

from logbook.sheets.looks import Look, Sheet

SUFFIX = ".json"
_WORKING = frozenset({"drawn", "tuned", "capos", "sound"})
"""Fields a form draws or works from; everything they say stands beside them in words."""


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet's data as JSON, keys in the order the sheet says them."""
    del look
    whole = as_plain(sheet.data)
    if hasattr(sheet.data, "_fields"):
        whole = {"sheet": sheet.kind, **whole}
    return json.dumps(whole, ensure_ascii=False, indent=2, default=str) + "\n"


def as_plain(value: Any) -> Any:
    """Return lists, dictionaries, text, numbers and None for a tree of records."""
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        return {
            name: as_plain(each)
            for name, each in zip(value._fields, value, strict=True)
            if name not in _WORKING
        }
    if isinstance(value, tuple | list):
        return [as_plain(each) for each in value]
    if isinstance(value, dict):
        return {key: as_plain(each) for key, each in value.items()}
    if isinstance(value, set | frozenset):
        return sorted(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: as_plain(getattr(value, each.name)) for each in fields(value)}
    if isinstance(value, Fraction):
        return str(value)
    return value
