"""What a record's field says of itself, in one place, besides its name and type.

A field is declared once, in its record; a key that a record cannot do without is `needed`:

    title: str = field(metadata=needed("its title", "Low Water", "name"))
    iswc: str = written("", "work code (ISO 15707)", "T-034.524.680-1", "work_code")
    shares: tuple[Share, ...] = holds("share", "shares share")

After its default come what it is, a value as it is typed, and how it is read. From this follow
the key in the session file and the command's option, the page of all fields, the JSON schema, the
random logs of the tests, and the column it lies in: `logbook.store.models` refuses to load where
the table has none.

Readers and printers are named, not imported, so that a record stays plain data and quick to load.
A name is looked up in the noun's own module of `logbook.notebook`, then in its `values`; where a
reader takes bounds, a function of both is written instead: `lambda on: on.whole(1, 64)`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import Field, field
from typing import Any

Named = str | Callable[[Any], Any]
"""A reader or printer: its name, or a function of what names are looked up in."""


def needed(help: str, example: str, read: Named, **traits: Any) -> Mapping[str, Any]:
    """Declare a field that people type, and that a record cannot do without.

    Traits: `key` is its name in files and commands where that is not the attribute's; `write` its
    printer; a `flag` is a yes or no, a `many` field a list of texts; an `always` field is written
    out even where it says what is usual; a `strict` one is read with all its rules even in a
    table taken as it was logged; `called` is the option's name where the key would mean another
    thing on the command line. For `stored` see `storage_of`.
    """
    stored = traits.pop("stored", "")
    return {"written": {"help": help, "example": example, "read": read, **traits}, "stored": stored}


def written(default: Any, help: str, example: str, read: Named, **traits: Any) -> Any:
    """Declare a field that people may type, with its default and the traits of `needed`."""
    return field(default=default, metadata=needed(help, example, read, **traits))


def noted() -> Any:
    """Declare a record's notes."""
    return written("", "anything else worth keeping", "to be asked again", "text")


def holds(noun: str, keys: str, **how: Any) -> Any:
    """Declare a field that holds records of a noun, under any of these keys of a file.

    `how` are the other traits of `logbook.notebook.declare.Collection`, functions by their names.
    """
    traits = {"noun": noun, "keys": tuple(keys.split()), **how}
    return field(default=(), metadata={"holds": traits})


def storage_of(each: Field[Any]) -> str:
    """Return how a field is kept.

    "plain" is a column of its name, "bool" a yes or no, "json" a list as JSON text, "share" a
    fraction in two columns, "song" the song its version belongs to, and ">table" a row of that
    table, referred to by name (">table:column" where the column is called otherwise). "rows" and
    "row" are rows of another table that point back.
    """
    if each.metadata.get("stored"):
        return str(each.metadata["stored"])
    if "holds" in each.metadata:
        return "rows"
    if str(each.type).startswith("tuple["):
        return "json"
    return "bool" if str(each.type).startswith("bool") else "plain"
