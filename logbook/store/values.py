"""From a record's fields to a row's columns: names become row numbers, lists become JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Collection
from typing import Any

from sqlalchemy import text

from logbook.errors import LogbookError
from logbook.names import none_called
from logbook.store.changing import Change
from logbook.store.errors import NotFoundError
from logbook.store.finding import NAME_COLUMNS, exactly, noun
from logbook.store.layout import Shape, StoredField
from logbook.store.models.places import TuningRow
from logbook.strings.tunings import find_tuning

_JSON = json.JSONEncoder(ensure_ascii=False).encode

# References within the version or the part a row belongs to, not to the log at large.
WITHIN = {"part": "version_id", "voicing": "part_id", "pattern": "part_id"}
# Whole numbers in most columns have 32 bits on PostgreSQL, in these 64.
LARGE = frozenset(
    {"rate_hz", "frames", "size", "modified", "time_reference", "frame", "clipped_samples"}
)


def columns_for(
    change: Change,
    shape: Shape,
    record: Any,
    owner: dict[str, int],
    given: Collection[str] | None,
) -> dict[str, Any]:
    """The columns that hold `record`'s fields (those in `given` only, unless it is None)."""
    values: dict[str, Any] = {}
    for field in shape.fields:
        if given is not None and field.name not in given:
            continue
        value = getattr(record, field.name)
        if field.kind == "share":
            check(shape, field, value.numerator)
            check(shape, field, value.denominator)
            values["numerator"], values["denominator"] = value.numerator, value.denominator
        elif field.kind == "json":
            kept = _JSON(value) if value else ""
            values[field.columns[0]] = check(shape, field, kept)
        elif field.kind == "ref":
            values[field.columns[0]] = _reference(change, shape, field, record, owner)
        elif field.kind != "song":
            values[field.columns[0]] = check(shape, field, value)
    return values


def check(shape: Shape, field: StoredField, value: Any) -> Any:
    """`value`, when both databases can hold it. Raises LogbookError."""
    if value is None or value == "" or isinstance(value, bool):
        named = field.name == NAME_COLUMNS.get(shape.table)
        if value == "" and named:
            raise LogbookError(f"{_what(shape, field)} is empty", "give it one")
    elif isinstance(value, str):
        _check_text(shape, field, value)
    elif isinstance(value, int):
        if not -(limit := 2 ** (63 if field.name in LARGE else 31)) <= value < limit:
            what = _what(shape, field)
            raise LogbookError(f"{what} is {value}, which is too large", "write a smaller number")
    elif isinstance(value, float) and not math.isfinite(value):
        raise LogbookError(f"{_what(shape, field)} is {value}", "write an ordinary number")
    return value


def _check_text(shape: Shape, field: StoredField, value: str) -> None:
    if "\x00" in value:
        raise LogbookError(f"{_what(shape, field)} holds a zero character", "take it out")
    try:
        value.encode()
    except UnicodeEncodeError:
        what = _what(shape, field)
        raise LogbookError(f"{what} holds half a character", "type it again") from None
    if field.name == NAME_COLUMNS.get(shape.table) and not value.strip():
        raise LogbookError(f"{_what(shape, field)} is empty", "give it one")


def _what(shape: Shape, field: StoredField) -> str:
    return f"the {noun(shape.table)}'s {field.name.replace('_', ' ')}"


def _reference(
    change: Change, shape: Shape, field: StoredField, record: Any, owner: dict[str, int]
) -> int | None:
    name = getattr(record, field.name)
    if field.table == "version":
        return version_id(change, record.song, record.version)
    if field.table == "arrangement":
        if not name:
            return None
        version = version_id(change, record.song, record.version)
        return resolve(change, "arrangement", name, {"version_id": version})
    if not name:
        return None
    scope: dict[str, int] = {}
    if field.table in WITHIN:
        scope = {WITHIN[field.table]: _scope(change, shape, field, owner)}
    return resolve(change, field.table, name, scope)


def _scope(change: Change, shape: Shape, field: StoredField, owner: dict[str, int]) -> int:
    ((column, owner_id),) = owner.items()
    if field.table != "part":
        return owner_id
    table = column.removesuffix("_id")
    found = change.connection.execute(
        text(f'SELECT version_id FROM "{table}" WHERE id = :id'), {"id": owner_id}
    ).scalar()
    return int(found or 0)


def version_id(change: Change, song: str, version: str) -> int:
    """The row number of a version named by its song's title and its own name."""
    return resolve(change, "version", version, {"song_id": resolve(change, "song", song, {})})


def resolve(change: Change, kind: str, name: str, scope: dict[str, int]) -> int:
    """The row number of what is called exactly `name`. Raises NotFoundError with near misses."""
    ((_, owner_id),) = scope.items() if scope else ((None, None),)
    found = exactly(change.connection, kind, name, owner_id)
    if found is not None:
        return found.id
    if kind == "tuning":
        usual = _usual_tuning(change, name)
        if usual is not None:
            return usual
    column = NAME_COLUMNS[kind]
    where = " AND ".join(f"{key} = {value:d}" for key, value in scope.items()) or "1 = 1"
    rows = change.connection.exec_driver_sql(f'SELECT "{column}" FROM "{kind}" WHERE {where}')
    known = [str(row[0]) for row in rows]
    missing = none_called(name, known, noun(kind), f"add the {noun(kind)} first")
    raise NotFoundError(missing.problem, missing.remedy)


def _usual_tuning(change: Change, name: str) -> int | None:
    """A tuning everybody knows by name comes into the log when it is first named."""
    try:
        known = find_tuning(name)
    except LogbookError:
        return None
    found = exactly(change.connection, "tuning", known.name)
    if found is not None:
        return found.id
    row = TuningRow(
        name=known.name,
        strings=known.text,
    )
    change.session.add(row)
    change.session.flush()
    return row.id
