"""Putting records into the log: what is new is added, what differs is changed, the rest is left.

Conventions
-----------
A record is known again by its natural key (a title, a name in its owner, a take's session and
number). Keyed lists (versions, parts, voicings, takes, comps ...) are merged: nothing that a
record does not mention is removed. Stated lists (form, meters, tempos, chart, pieces, punch-ins,
shares, roles, entries ...) are taken as a whole: rows that stay where they were stay, the others
go and come. `given` says which fields the caller stated; the others are left as they are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any, NamedTuple

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from logbook.errors import LogbookError
from logbook.records import Log
from logbook.store.changing import Change
from logbook.store.errors import NotFoundError
from logbook.store.finding import (
    NAME_COLUMNS,
    NOWHERE,
    FoundRow,
    LogPlace,
    exactly,
    find_owner,
    noun,
)
from logbook.store.layout import SHAPES, TABLE_OF, Child, Shape
from logbook.store.loading import has_position, load
from logbook.store.models import MODELS
from logbook.store.models.takes import TakeRow
from logbook.store.pinning import pin_pieces
from logbook.store.values import columns_for, resolve

# Fields of a part that name other parts of the version, which may come later in a load.
SIBLINGS = ("doubles", "overdubs")


class FieldChange(NamedTuple):
    """One field, from what to what; lists are tuples of records."""

    field: str
    old: Any
    new: Any


class Done(NamedTuple):
    """What became of one record: "added", "changed" (with its fields) or "left"."""

    action: str
    kind: str
    label: str
    fields: tuple[FieldChange, ...] = ()
    id: int = 0


def put(
    change: Change,
    record: Any,
    place: LogPlace = NOWHERE,
    given: Collection[str] | None = None,
) -> list[Done]:
    """Add `record` at `place`, or change what is there; the record's own outcome comes first.

    With `given` None every field counts, and what the record holds is put with it. Otherwise
    only these fields count; the key's fields always do. Doubles and overdubs name other parts of
    the version: put the parts first. Raises NotFoundError for a name that is not in the log, with
    the closest ones, and LogbookError for a value that the log cannot hold.
    """
    shape = SHAPES[TABLE_OF[type(record)]]
    owner = owner_of(change, shape, place)
    return _put_under(change, shape, record, owner, None if given is None else set(given))


def put_log(change: Change, log: Log) -> list[Done]:
    """Put a whole log: first what is referred to by name, then the songs and what names them."""
    dones: list[Done] = []
    for records in (
        log.people,
        log.tunings,
        log.instruments,
        log.sessions,
        log.songs,
        log.projects,
        log.setlists,
        log.remarks,
        log.files,
    ):
        for record in records:
            dones.extend(put(change, record))
    return dones


def owner_of(change: Change, shape: Shape, place: LogPlace) -> dict[str, int]:
    """The owner columns of a row of `shape` at `place`, by the names in it."""
    if not shape.owners:
        return {}
    for column in shape.owners:
        kind = column.removesuffix("_id")
        if len(shape.owners) == 1 or _reaches(place, kind):
            return {column: find_owner(change.connection, kind, place).id}
    if shape.table == "audio_file":
        return {}
    raise NotFoundError(f"it is not clear what the {noun(shape.table)} belongs to", "name it")


def _reaches(place: LogPlace, kind: str) -> bool:
    """Whether `place` ends at `kind` rather than passing through it."""
    if kind == "take":
        return place.take is not None
    if kind == "part":
        return bool(place.part) and place.take is None
    if kind == "version":
        return bool(place.version) and not place.part
    if kind == "song":
        return bool(place.song) and not place.version and not place.part
    return bool(getattr(place, kind)) and not place.song


def _put_under(
    change: Change, shape: Shape, record: Any, owner: dict[str, int], given: set[str] | None
) -> list[Done]:
    if shape.listed:
        return _put_listed(change, shape, record, owner, given)
    session = change.session
    row = existing(change, shape, record, owner)
    asked = None if given is None else given | set(shape.key)
    new = row is None
    values = columns_for(change, shape, record, owner, None if new else asked)
    if shape.table == "comp" and values.get("final"):
        one_final(change, owner, row)
    fields: list[FieldChange] = []
    if row is None:
        if shape.table == "take":
            pin_pieces(change, owner["part_id"], values["number"], values["session_id"])
        row = MODELS[shape.table](**values, **owner)
        if has_position(shape):
            row.position = _next_position(change, shape, owner)  # type: ignore[attr-defined]
        session.add(row)
        flush(change, shape, record)
    else:
        differing = {c: v for c, v in (values | owner).items() if getattr(row, c) != v}
        if differing:
            old = load(change.connection, shape.table, f"t.id = {row.id:d}")[0].record
            _move_unique(shape, differing)
            for column, value in differing.items():
                setattr(row, column, value)
            flush(change, shape, record)
            for field in shape.fields:
                if set(field.columns) & differing.keys():
                    before, after = getattr(old, field.name), getattr(record, field.name)
                    fields.append(FieldChange(field.name, before, after))
            if set(shape.owners) & differing.keys():
                fields.append(FieldChange("belongs to", "", change.place_of(row)[1]))
    below: list[Done] = []
    for child in _in_order(shape.children):
        if given is None or child.field in given:
            listed, dones = _put_children(change, shape, child, record, row.id, new)
            fields.extend(listed)
            below.extend(dones)
    action = "added" if new else "changed" if fields else "left"
    label = change.place_of(row)[1]
    return [Done(action, shape.table, label, () if new else tuple(fields), row.id), *below]


def _in_order(children: tuple[Child, ...]) -> Iterable[Child]:
    return sorted(children, key=lambda child: child.field in SIBLINGS)


def _move_unique(shape: Shape, differing: dict[str, Any]) -> None:
    """An audio file that moves to another owner leaves the old one."""
    if shape.table == "audio_file" and differing.keys() & set(shape.owners):
        for column in shape.owners:
            differing.setdefault(column, None)


def _put_children(
    change: Change, shape: Shape, child: Child, record: Any, row_id: int, new: bool
) -> tuple[list[FieldChange], list[Done]]:
    below = SHAPES[child.table]
    owner = {child.column: row_id}
    held = getattr(record, child.field)
    held = (() if held is None else (held,)) if child.single else held
    if below.listed:
        changed = replace_list(change, below, held, owner, new=new)
        return ([FieldChange(child.field, *changed)] if changed else []), []
    if child.table != "part":
        return [], [d for each in held for d in _put_under(change, below, each, owner, None)]
    # First all the parts, then what they say about one another.
    first = {field.name for field in below.fields} | {c.field for c in below.children}
    dones = [
        d for each in held for d in _put_under(change, below, each, owner, first - set(SIBLINGS))
    ]
    for each in held:
        for again in _put_under(change, below, each, owner, set(SIBLINGS)):
            if again.action == "changed":
                dones = [_joined(done, again) for done in dones]
    return [], dones


def _joined(done: Done, again: Done) -> Done:
    if (done.kind, done.id) != (again.kind, again.id) or done.action == "added":
        return done
    return done._replace(action="changed", fields=done.fields + again.fields)


def existing(change: Change, shape: Shape, record: Any, owner: dict[str, int]) -> Any:
    """The row that `record` is known to be, or None."""
    model: Any = MODELS[shape.table]
    statement = select(model)
    if shape.table == "audio_file":
        return _existing_file(change, record, owner)
    for column, value in owner.items():
        statement = statement.where(getattr(model, column) == value)
    for name in shape.key:
        for column, value in columns_for(change, shape, record, owner, {name}).items():
            statement = statement.where(getattr(model, column) == value)
    found = change.session.scalars(statement.limit(1)).first()
    if found is None and shape.table in NAME_COLUMNS and len(shape.key) == 1:
        # The same name in another spelling.
        owner_id = next(iter(owner.values()), None)
        row = exactly(change.connection, shape.table, getattr(record, shape.key[0]), owner_id)
        found = change.session.get(model, row.id) if row is not None else None
    return found


def _existing_file(change: Change, record: Any, owner: dict[str, int]) -> Any:
    """A file is known by its place on the disk; a relative one, by its owner too."""
    model: Any = MODELS["audio_file"]
    statement = select(model).where(model.path == record.path, model.folder == record.folder)
    if not record.folder:
        for column in SHAPES["audio_file"].owners:
            statement = statement.where(getattr(model, column) == owner.get(column))
    return change.session.scalars(statement.order_by(model.id).limit(1)).first()


def _next_position(change: Change, shape: Shape, owner: dict[str, int]) -> int:
    where = " AND ".join(f"{column} = {value:d}" for column, value in owner.items()) or "1 = 1"
    if not owner:
        where = " AND ".join(f"{column} IS NULL" for column in shape.owners)
    found = change.connection.exec_driver_sql(
        f'SELECT COALESCE(MAX(position) + 1, 0) FROM "{shape.table}" WHERE {where}'
    ).scalar()
    return int(found or 0)


def one_final(change: Change, owner: dict[str, int], row: Any) -> None:
    """A comp that becomes the final one takes that place from the one that was."""
    model: Any = MODELS["comp"]
    statement = select(model).where(model.part_id == owner["part_id"], model.final.is_(True))
    for other in change.session.scalars(statement):
        if row is None or other.id != row.id:
            other.final = False
            change.session.flush()


def replace_list(
    change: Change, shape: Shape, held: Collection[Any], owner: dict[str, int], *, new: bool = False
) -> tuple[tuple[Any, ...], tuple[Any, ...]] | None:
    """Make the owner's list of `shape` say exactly `held`; None if it did, else (old, new)."""
    model: Any = MODELS[shape.table]
    (column, owner_id) = next(iter(owner.items()))
    wanted = [columns_for(change, shape, each, owner, None) for each in held]
    rows: list[Any] = []
    if not new:
        statement = select(model).where(getattr(model, column) == owner_id)
        placed = has_position(shape)
        statement = statement.order_by(*((model.position, model.id) if placed else (model.id,)))
        rows = list(change.session.scalars(statement))
    kept = [
        at < len(rows) and all(getattr(rows[at], c) == v for c, v in values.items())
        for at, values in enumerate(wanted)
    ]
    if all(kept) and len(rows) == len(wanted):
        return None
    old = ()
    if rows:
        found = load(change.connection, shape.table, f't."{column}" = {owner_id:d}')
        old = tuple(row.record for row in found)
    for at, row in enumerate(rows):
        if at >= len(wanted) or not kept[at]:
            change.session.delete(row)
    change.session.flush()
    for at, values in enumerate(wanted):
        if not kept[at]:
            row = model(**values, **owner)
            if has_position(shape):
                row.position = at
            change.session.add(row)
        elif has_position(shape):
            rows[at].position = at
    flush(change, shape, None)
    return old, tuple(held)


def _put_listed(
    change: Change, shape: Shape, record: Any, owner: dict[str, int], given: set[str] | None
) -> list[Done]:
    """Put one record into a stated list: in the place of its namesake, or where it belongs."""
    ((column, owner_id),) = owner.items()
    found = load(change.connection, shape.table, f't."{column}" = {owner_id:d}')
    held = [row.record for row in found]
    key = [getattr(record, name) for name in shape.key]
    at = next(
        (i for i, old in enumerate(held) if [getattr(old, name) for name in shape.key] == key), None
    )
    label = f"{noun(shape.table)} of {change.place(column.removesuffix('_id'), owner_id)[1]}"
    if at is None:
        places = [i for i, old in enumerate(held) if _rank(shape, old) > _rank(shape, record)]
        held.insert(places[0] if places and shape.order else len(held), record)
        replace_list(change, shape, held, owner)
        return [Done("added", shape.table, label)]
    old = held[at]
    if given is not None:
        kept = {f.name: getattr(old, f.name) for f in shape.fields if f.name not in given}
        kept |= {name: getattr(record, name) for name in shape.key}
        record = type(record)(**{f.name: getattr(record, f.name) for f in shape.fields} | kept)
    if record == old:
        return [Done("left", shape.table, label, (), found[at].id)]
    held[at] = record
    replace_list(change, shape, held, owner)
    fields = tuple(
        FieldChange(f.name, getattr(old, f.name), getattr(record, f.name))
        for f in shape.fields
        if getattr(old, f.name) != getattr(record, f.name)
    )
    return [Done("changed", shape.table, label, fields)]


def _rank(shape: Shape, record: Any) -> tuple[Any, ...]:
    from fractions import Fraction

    rank = []
    for name in shape.order:
        value = getattr(record, name)
        try:
            rank.append(Fraction(value))
        except (ValueError, ZeroDivisionError):
            rank.append(Fraction(0))
    return tuple(rank)


def flush(change: Change, shape: Shape, record: Any) -> None:
    """Write out, and say plainly what the tables do not allow."""
    try:
        change.session.flush()
    except IntegrityError as error:
        raise not_allowed(error, shape, record) from error


def not_allowed(error: IntegrityError, shape: Shape, record: Any) -> LogbookError:
    """What the tables do not allow, said plainly."""
    name = getattr(record, NAME_COLUMNS.get(shape.table, ""), "") if record else ""
    label = f"the {noun(shape.table)} {name!r}" if name else f"a {noun(shape.table)}"
    text = " ".join(str(error.orig).split())
    if "unique" in text.lower():
        return LogbookError(f"{label} would be there twice", "give it another name")
    return LogbookError(f"{label} holds what the log cannot hold ({text})", "")


def next_take(change: Change, place: LogPlace, session: str = "") -> int:
    """The number of the next take of the part at `place` in `session`; 1 for the first.

    Writers stand in line, so nobody else gets this number before the change ends.
    """
    part = find_owner(change.connection, "part", place)
    session_id = resolve(change, "session", session, {}) if session else None
    statement = select(TakeRow.number).where(
        TakeRow.part_id == part.id, TakeRow.session_id == session_id
    )
    return max(change.session.scalars(statement), default=0) + 1


def attach(change: Change, file: FoundRow, place: LogPlace) -> Done:
    """Hang an audio file on the take, part or version at `place` (nowhere: take it down)."""
    owner = owner_of(change, SHAPES["audio_file"], place)
    row: Any = change.session.get(MODELS["audio_file"], file.id)
    if row is None:
        raise NotFoundError(f"the file {file.name!r} is no longer in the log", "")
    before = change.place_of(row)[1]
    columns = {column: owner.get(column) for column in SHAPES["audio_file"].owners}
    if all(getattr(row, column) == value for column, value in columns.items()):
        return Done("left", "audio_file", before, (), row.id)
    for column, value in columns.items():
        setattr(row, column, value)
    row.position = _next_position(change, SHAPES["audio_file"], owner)
    change.session.flush()
    after = change.place_of(row)[1]
    return Done("changed", "audio_file", after, (FieldChange("belongs to", before, after),), row.id)
