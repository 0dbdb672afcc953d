"""What a record's field says of itself, in one place, besides its name, type and default.

A field is declared once, in its record:

    iswc: str = field(
        default="",
        metadata=written("work code (ISO 15707)", "T-034.524.680-1", "iswc"),
    )

From it follow the key in the session file and the command's option, how a value is read and
printed, the page of all fields, the JSON schema, the random logs of the tests, and the column it
lies in; `logbook.store.models` refuses to load when there is no such column.

Readers and printers are named, not imported, so that a record stays plain data and quick to load:
a name is looked up in the noun's own module of `logbook.notebook`, then in its `values`; where a
reader takes bounds, a function of both is written instead: `lambda on: on.whole(1, 64)`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import Field, fields
from functools import cache
from typing import Any

Named = str | Callable[[Any], Any]
"""A reader or printer: its name, or a function of what it is looked up in."""


def written(
    help: str,
    example: str,
    read: Named,
    *,
    key: str = "",
    write: Named = "",
    stored: str = "",
    flag: bool = False,
    many: bool = False,
    always: bool = False,
    strict: bool = False,
) -> Mapping[str, Any]:
    """Declare a field that people type: what it is, a value as it is typed, how it is read.

    `key` is its name in files and commands where that is not the attribute's. A `flag` is a yes
    or no, a `many` field a list of texts; an `always` field is written out even where it says
    what is usual; a `strict` one is read with all its rules even in a table taken as it was
    logged. For `stored` see `storage_of`.
    """
    words = {name: value for name, value in locals().items() if value or name == "help"}
    return {"written": words, "stored": stored}


def holds(noun: str, keys: str, **how: Any) -> Mapping[str, Any]:
    """Declare a field that holds records of a noun, under any of these keys of a file.

    `how` are the other traits of `logbook.notebook.declare.Collection`, functions by their names.
    """
    return {"holds": {"noun": noun, "keys": tuple(keys.split()), **how}, "stored": ""}


@cache
def declared(record: type) -> tuple[Field[Any], ...]:
    """Return the fields of a record in the order in which they are read."""
    return fields(record)


def storage_of(each: Field[Any]) -> str:
    """Return how a field is kept.

    "plain" is a column of its name, "bool" a yes or no, "json" a list as JSON text, "share" a
    fraction in two columns, "song" the song its version belongs to, and ">table" a row of that
    table, referred to by name (">table:column" where the column is called otherwise). "" is a
    field that other rows hold.
    """
    if each.metadata.get("stored"):
        return str(each.metadata["stored"])
    kind = str(each.type)
    if kind == "tuple[str, ...]":
        return "json"
    if kind.startswith("tuple[") or "holds" in each.metadata:
        return ""
    return "bool" if kind.startswith("bool") else "plain"
