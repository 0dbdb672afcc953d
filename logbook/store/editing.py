"""Changing fields of what is in the log, and seeing that nobody's change is overwritten.

Conventions
-----------
Who edits says which revision they looked at; if the row has moved on since, ConflictError
carries both what stands there now and what was to be written. Without a revision the last
writer wins, knowingly. Names of other things are given as names, as in the records.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import text

from logbook.errors import LogbookError
from logbook.store.changing import Change
from logbook.store.errors import ConflictError, NotFoundError
from logbook.store.finding import FoundRow, noun
from logbook.store.layout import SHAPES
from logbook.store.loading import load
from logbook.store.models import MODELS
from logbook.store.values import columns_for
from logbook.store.writing import Done, FieldChange, flush, one_final, replace_list

# How much of one field a sentence quotes.
_LONGEST = 300


def edit(
    change: Change,
    found: FoundRow,
    fields: Mapping[str, Any],
    expected_revision: int | None = None,
) -> Done:
    """Set `fields` of the record that was found; a list of records replaces the whole list.

    Raises ConflictError if its revision is not `expected_revision` any more, NotFoundError if it
    is gone, and LogbookError for a field that it does not have or a value it cannot hold.
    """
    shape = SHAPES[found.kind]
    row: Any = change.session.get(MODELS[found.kind], found.id)
    if row is None:
        raise NotFoundError(
            f"the {noun(found.kind)} {found.name!r} is no longer in the log",
            "somebody removed it; `logbook history` says who",
        )
    old = load(change.connection, found.kind, f"t.id = {found.id:d}")[0].record
    names = {field.name for field in shape.fields} | {child.field for child in shape.children}
    unknown = sorted(set(fields) - names)
    if unknown:
        raise LogbookError(
            f"a {noun(found.kind)} has no {unknown[0]!r}", f"it has {', '.join(sorted(names))}"
        )
    if expected_revision is not None and row.revision != expected_revision:
        raise conflict(change, found, dict(fields), old, row.revision - expected_revision)
    record = dataclasses.replace(old, **fields)
    owner = {
        column: getattr(row, column) for column in shape.owners if getattr(row, column) is not None
    }
    if found.kind == "comp" and record.final and not old.final:
        one_final(change, owner, row)
    for column, value in columns_for(change, shape, record, owner, set(fields)).items():
        if getattr(row, column) != value:
            setattr(row, column, value)
    flush(change, shape, record)
    changes = [
        FieldChange(name, getattr(old, name), getattr(record, name))
        for name in fields
        if getattr(old, name) != getattr(record, name)
    ]
    for child in shape.children:
        if child.field in fields:
            below = SHAPES[child.table]
            if not below.listed:
                raise LogbookError(
                    f"{child.field} are edited one by one", f"name the {noun(child.table)}"
                )
            held = getattr(record, child.field)
            held = (() if held is None else (held,)) if child.single else held
            replace_list(change, below, held, {child.column: found.id})
            if getattr(old, child.field) != getattr(record, child.field):
                row.revision += 1
    change.session.flush()
    label = change.place_of(row)[1]
    action = "changed" if changes else "left"
    return Done(action, found.kind, label, tuple(changes), found.id)


def conflict(
    change: Change, found: FoundRow, mine: dict[str, Any], theirs: Any, since: int = 1
) -> ConflictError:
    """The error that shows what stands there now and what was to be written.

    What stands there is told of the fields in `mine`, and of all that the last `since` changes
    touched.
    """
    changes = change.connection.execute(
        text(
            "SELECT c.who, c.at, h.after FROM change h JOIN command c ON c.id = h.command_id"
            " WHERE h.kind = :kind AND h.row_id = :id ORDER BY h.id DESC LIMIT :since"
        ),
        {"kind": found.kind, "id": found.id, "since": min(max(since, 1), 50)},
    ).fetchall()
    who, at = (changes[0][0], changes[0][1]) if changes else ("", "")
    touched = {name for row in changes for name in json.loads(row[2] or "{}")}
    named = [*mine, *sorted(name for name in touched - set(mine) if hasattr(theirs, name))]
    by = f" by {who} at {at}" if who else ""
    label = change.place(found.kind, found.id)[1]
    now = ", ".join(f"{name} = {_shown(getattr(theirs, name))}" for name in named)
    wanted = ", ".join(f"{name} = {_shown(value)}" for name, value in mine.items())
    return ConflictError(
        f"{label} was changed{by} since you looked at it: it now says {now}; you wanted {wanted}",
        "nothing was written; check it and run the command again",
        mine=mine,
        theirs=theirs,
        who=who,
        at=at,
    )


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}..."
