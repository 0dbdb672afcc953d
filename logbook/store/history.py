"""What was done to the log: reading the history.

Conventions
-----------
A command is one transaction: who gave it, when (ISO 8601, UTC), its words, and the rows it
added, changed or removed, each field from what to what. Row numbers of other things are shown
as names. Taking commands back is in `undoing`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from logbook.records.differing import differing, differing_pieces
from logbook.store.finding import NAME_COLUMNS, FoundRow
from logbook.store.layout import SHAPES

# Columns that say where a row stands, which its label says better.
SILENT = frozenset({"position", "revision"})
_AT_ONCE = 1_000
REFERENCES = {"over_id": "part", "other_id": "part", "player_id": "person"}


class ChangedField(NamedTuple):
    """One field of a row, from what to what (None: was or is not there)."""

    name: str
    old: Any
    new: Any


class RowChange(NamedTuple):
    """One row that was "added", "changed" or "removed"; `label` is what a person calls it."""

    action: str
    kind: str
    row_id: int
    label: str
    fields: tuple[ChangedField, ...]

    def fields_data(self) -> list[dict[str, Any]]:
        """The fields as plain data."""
        return [field._asdict() for field in self.fields]


class HistoryEntry(NamedTuple):
    """One command; `undone_by` is the command that took it back, `undoes` is
    "undo" or "redo" for such a one."""

    id: int
    at: str
    who: str
    command: str
    undoes: str
    undone_by: int | None
    changes: tuple[RowChange, ...]


def history(
    connection: Connection,
    found: FoundRow | None = None,
    *,
    command_ids: Sequence[int] | None = None,
    limit: int | None = None,
) -> list[HistoryEntry]:
    """Commands with the rows they touched, the newest first.

    With `found` only what concerns that row and whatever stands in it, also after it is gone;
    `limit` keeps the last so many commands.
    """
    condition, values = _condition(found, command_ids)
    entries = commands(connection, found, command_ids=command_ids, limit=limit)
    listed = ", ".join(f"{entry.id:d}" for entry in entries)
    if not listed:
        return []
    changes: dict[int, list[RowChange]] = {}
    where = _and(condition, f"h.command_id IN ({listed})")
    for command_id, change in _read_changes(connection, where, values):
        changes.setdefault(command_id, []).append(change)
    return [entry._replace(changes=tuple(changes[entry.id])) for entry in entries]


def commands(
    connection: Connection,
    found: FoundRow | None = None,
    *,
    command_ids: Sequence[int] | None = None,
    limit: int | None = None,
) -> list[HistoryEntry]:
    """The same commands without the rows they touched, for whoever reads those one by one."""
    condition, values = _condition(found, command_ids)
    if condition:
        chosen = f"SELECT DISTINCT h.command_id FROM change h{condition} ORDER BY 1 DESC"
    else:
        touched = "EXISTS (SELECT 1 FROM change h WHERE h.command_id = c.id)"
        chosen = f"SELECT c.id FROM command c WHERE {touched} ORDER BY 1 DESC"
    if limit is not None:
        chosen += f" LIMIT {limit:d}"
    ids = [row[0] for row in connection.execute(text(chosen), values)]
    if not ids:
        return []
    listed = ", ".join(f"{number:d}" for number in ids)
    rows = connection.exec_driver_sql(
        "SELECT id, at, who, command, undoes, undone_by FROM command"
        f" WHERE id IN ({listed}) ORDER BY id DESC"
    )
    return [HistoryEntry(row[0], row[1], row[2], row[3], row[4], row[5], ()) for row in rows]


def changes_of(
    connection: Connection, entry: HistoryEntry, found: FoundRow | None = None
) -> Iterator[RowChange]:
    """Every row that a command touched, some at a time: a load may have touched a million."""
    condition, values = _condition(found, [entry.id])
    return (change for _, change in _read_changes(connection, condition, values))


def first_changes(
    connection: Connection, entry: HistoryEntry, shown: int, found: FoundRow | None = None
) -> tuple[tuple[RowChange, ...], int]:
    """The first rows that a command touched, gathered, and how many more there are.

    No more is read than is shown.
    """
    condition, values = _condition(found, [entry.id])
    told = ", ".join(f"'{kind}'" for kind in _TOLD_BY_BAR)
    single = f"h.kind NOT IN ({told})"
    counted = connection.execute(
        text(
            f"SELECT (SELECT COUNT(*) FROM change h{_and(condition, single)}),"
            f" (SELECT COUNT(*) FROM (SELECT DISTINCT h.kind, h.label FROM change h"
            f"{_and(condition, f'NOT {single}')}) AS lists)"
        ),
        values,
    ).one()
    total = int(counted[0]) + int(counted[1])
    # A list stands where its first row does, so that the first rows say which are shown.
    first = connection.execute(
        text(
            "SELECT id, listed, label FROM ("
            f"SELECT h.id AS id, '' AS listed, '' AS label FROM change h{_and(condition, single)}"
            " UNION ALL SELECT MIN(h.id), h.kind, h.label FROM change h"
            f"{_and(condition, f'NOT {single}')} GROUP BY h.kind, h.label"
            f") AS each ORDER BY id LIMIT {shown:d}"
        ),
        values,
    ).fetchall()
    changes: list[RowChange] = []
    for row_id, kind, label in first:
        if kind:
            where, named = "h.kind = :kind AND h.label = :label", {"kind": kind, "label": label}
        else:
            where, named = f"h.id = {int(row_id):d}", {}
        read = _read_changes(connection, _and(condition, where), values | named)
        changes += [change for _, change in read]
    return gathered(changes), total - len(first)


def _and(condition: str, more: str) -> str:
    return f"{condition} AND {more}" if condition else f" WHERE {more}"


def _read_changes(
    connection: Connection, condition: str, values: dict[str, Any]
) -> Iterator[tuple[int, RowChange]]:
    """Yield rows that were touched, each with the number of its command, in their order."""
    names = _RowNames(connection)
    last = 0
    while True:
        rows = connection.execute(
            text(
                "SELECT h.id, h.command_id, h.action, h.kind, h.row_id, h.label, h.before, h.after"
                f" FROM change h{_and(condition, f'h.id > {last:d}')}"
                f" ORDER BY h.id LIMIT {_AT_ONCE:d}"
            ),
            values,
        ).fetchall()
        names.learn(rows)
        for _, command_id, action, kind, row_id, label, before, after in rows:
            fields = _fields(kind, before, after, names)
            yield command_id, RowChange(action, kind, row_id, label, fields)
        if len(rows) < _AT_ONCE:
            return
        last = int(rows[-1][0])


def gathered(changes: Iterable[RowChange]) -> tuple[RowChange, ...]:
    """Tell lists from what to what: the rows of one form, chart or melody as one change of it.

    A row of such a list goes and comes where only its neighbours changed; what says the same as
    before is left out. Its fields are called after the bar they are about. Of a phrase and of a
    drum pattern only what differs is told.
    """
    told: list[RowChange] = []
    lists: dict[tuple[str, str], tuple[int, dict[_Key, str], dict[_Key, str]]] = {}
    for change in changes:
        if change.kind not in _TOLD_BY_BAR:
            told.append(_drums_told(change) if change.kind == "pattern" else change)
            continue
        where = change.kind, change.label
        if where not in lists:
            lists[where] = len(told), {}, {}
            told.append(change)
        _, old, new = lists[where]
        before = {field.name: field.old for field in change.fields}
        after = {field.name: field.new for field in change.fields}
        for held, values in ((old, before), (new, after)):
            if any(value not in (None, "") for value in values.values()):
                held[_bar_of(change.kind, values)] = _said_of(change.kind, values)
    for (kind, label), (at, old, new) in lists.items():
        fields = tuple(
            _field_of(kind, key, old.get(key), new.get(key))
            for key in sorted(old.keys() | new.keys())
            if old.get(key) != new.get(key)
        )
        told[at] = RowChange("changed", kind, told[at].row_id, label, fields)
    return tuple(told)


_Key = tuple[int, str]
_TOLD_BY_BAR = ("form", "chart", "lyric", "melody")


def _field_of(kind: str, key: _Key, old: str | None, new: str | None) -> ChangedField:
    """What changed at a place; of a phrase the notes that did, in the bar they are in."""
    if kind != "melody" or old is None or new is None:
        return ChangedField(_bar_said(key), old, new)
    found = differing(old, new)
    place = (key[0] + found.bars, "1") if found.bars else key
    return ChangedField(_bar_said(place), found.old, found.new)


def _drums_told(change: RowChange) -> RowChange:
    """A changed pattern with the pieces of the kit that play something else."""
    fields: list[ChangedField] = []
    for field in change.fields:
        both = change.action == "changed" and field.name == "line"
        if both and ";" in f"{field.old}{field.new}":
            pieces = differing_pieces(str(field.old), str(field.new))
            fields += (ChangedField(piece, old, new) for piece, old, new in pieces)
        else:
            fields.append(field)
    return change._replace(fields=tuple(fields))


def _bar_of(kind: str, values: dict[str, Any]) -> _Key:
    bar = values.get("start" if kind == "form" else "bar")
    return int(bar or 0), str(values.get("beat") or "1")


def _bar_said(key: _Key) -> str:
    return f"bar {key[0]}" + (f" beat {key[1]}" if key[1] != "1" else "")


def _said_of(kind: str, values: dict[str, Any]) -> str:
    if kind == "form":
        bars = values.get("bars")
        said = f"{values.get('name') or ''}, {bars} bars" if bars else str(values.get("name") or "")
        return said + (f" ({values['notes']})" if values.get("notes") else "")
    if kind in ("lyric", "melody"):
        said = str(values.get("text" if kind == "lyric" else "tune") or "")
        return said + (f" ({values['notes']})" if values.get("notes") else "")
    said = str(values.get("voicing") or "rest")
    return said + (f"@{values['pattern']}" if values.get("pattern") else "")


def _condition(
    found: FoundRow | None, command_ids: Sequence[int] | None
) -> tuple[str, dict[str, Any]]:
    parts = []
    values: dict[str, Any] = {}
    if command_ids is not None:
        listed = ", ".join(f"{number:d}" for number in command_ids) or "NULL"
        parts.append(f"h.command_id IN ({listed})")
    if found is not None and found.kind == "song":
        parts.append(f"h.song_id = {found.id:d}")
    elif found is not None:
        here = f"{found.kind} {found.id:d}"
        parts.append("(h.place = :a OR h.place LIKE :b OR h.place LIKE :c OR h.place LIKE :d)")
        values = {"a": here, "b": f"{here}/%", "c": f"%/{here}", "d": f"%/{here}/%"}
    return (f" WHERE {' AND '.join(parts)}" if parts else ""), values


def _fields(
    kind: str, before: str | None, after: str | None, names: _RowNames
) -> tuple[ChangedField, ...]:
    old = json.loads(before) if before else {}
    new = json.loads(after) if after else {}
    owners = SHAPES[kind].owners if kind in SHAPES else ()
    fields = []
    for column in old | new:
        whole = before is None or after is None
        if column in SILENT or (whole and column in owners):
            continue
        a, b = old.get(column), new.get(column)
        if whole and (a in (None, "") and b in (None, "")):
            continue
        table = _referred(kind, column)
        if table:
            a, b = names.name(table, a), names.name(table, b)
        fields.append(ChangedField(column.removesuffix("_id"), a, b))
    return tuple(fields)


def _referred(kind: str, column: str) -> str:
    if not column.endswith("_id"):
        return ""
    if kind == "arranged_part" and column == "part_id":
        return "part"
    return REFERENCES.get(column, column.removesuffix("_id"))


class _RowNames:
    """Names of rows by number: as they are now, or as they were when they went."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: dict[tuple[str, int], str] = {}

    def learn(self, rows: Iterable[Sequence[Any]]) -> None:
        """Look up everything that these change rows refer to, with one query a table."""
        wanted: dict[str, set[int]] = {}
        for row in rows:
            for side in (row[6], row[7]):
                if not side or "_id" not in side:
                    continue
                for column, value in json.loads(side).items():
                    table = _referred(row[3], column)
                    if not isinstance(value, int) or (table, value) in self._known:
                        continue
                    if table in NAME_COLUMNS:
                        wanted.setdefault(table, set()).add(value)
        for table, ids in wanted.items():
            listed = ", ".join(f"{number:d}" for number in ids)
            column = NAME_COLUMNS[table]
            found = self._connection.exec_driver_sql(
                f'SELECT id, "{column}" FROM "{table}" WHERE id IN ({listed})'
            )
            there = {row[0]: str(row[1]) for row in found}
            self._known.update({(table, row_id): name for row_id, name in there.items()})
            for gone in sorted(ids - there.keys()):
                self._known[table, gone] = self._last_name(table, gone)

    def _last_name(self, table: str, row_id: int) -> str:
        last = self._connection.execute(
            text(
                "SELECT before FROM change WHERE kind = :kind AND row_id = :id"
                " AND action = 'removed' ORDER BY id DESC LIMIT 1"
            ),
            {"kind": table, "id": row_id},
        ).scalar()
        return str(json.loads(last)[NAME_COLUMNS[table]]) if last else f"{table} {row_id}"

    def name(self, table: str, row_id: int | None) -> str | None:
        """What the row is called, None for none."""
        return None if row_id is None else self._known.get((table, row_id), f"{table} {row_id}")


class Wording(NamedTuple):
    """What notes said from `at` on, and who wrote them so."""

    at: str
    who: str
    text: str


def wordings(connection: Connection, found: FoundRow, field: str = "notes") -> list[Wording]:
    """Every wording a text field has had, the first one first, the present one last."""
    rows = connection.execute(
        text(
            "SELECT c.at, c.who, h.after FROM change h JOIN command c ON c.id = h.command_id"
            " WHERE h.kind = :kind AND h.row_id = :id AND h.after IS NOT NULL ORDER BY h.id"
        ),
        {"kind": found.kind, "id": found.id},
    )
    wordings: list[Wording] = []
    for at, who, after in rows:
        new = json.loads(after)
        if field in new and new[field] != (wordings[-1].text if wordings else ""):
            wordings.append(Wording(at, who, str(new[field])))
    return wordings
