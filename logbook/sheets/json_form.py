"""A sheet as JSON: the whole of its plain data, under stable names."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from logbook.sheets.looks import Look, Sheet

SUFFIX = ".json"
_WORKING = frozenset({"drawn", "tuned", "capos"})
"""Fields a form draws or works from; everything they say stands beside them in words."""


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet's data as JSON, keys in the order the sheet says them."""
    del look
    whole = {"sheet": sheet.kind, **as_plain(sheet.data)}
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


def as_plain(value: Any) -> Any:
    """Return lists, dictionaries, text, numbers and None for a tree of named tuples."""
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        return {
            name: as_plain(each)
            for name, each in zip(value._fields, value, strict=True)
            if name not in _WORKING
        }
    if isinstance(value, tuple | list):
        return [as_plain(each) for each in value]
    if isinstance(value, Fraction):
        return str(value)
    return value
