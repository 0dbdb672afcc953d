"""What was done to the log: reading the history.

Conventions
-----------
A command is one transaction: who gave it, when (ISO 8601, UTC), its words, and the rows it
added, changed or removed, each field from what to what. Row numbers of other things are shown
as names. Taking commands back is in `undoing`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from logbook.store.finding import NAME_COLUMNS, FoundRow
from logbook.store.layout import SHAPES

# Columns that say where a row stands, which its label says better.
SILENT = frozenset({"position", "revision"})
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
    chosen = f"SELECT DISTINCT h.command_id FROM change h{condition} ORDER BY h.command_id DESC"
    if limit is not None:
        chosen += f" LIMIT {limit:d}"
    ids = [row[0] for row in connection.execute(text(chosen), values)]
    if not ids:
        return []
    listed = ", ".join(f"{number:d}" for number in ids)
    both = " AND " if condition else " WHERE "
    rows = connection.execute(
        text(
            "SELECT h.command_id, h.action, h.kind, h.row_id, h.label, h.before, h.after"
            f" FROM change h{condition}{both}h.command_id IN ({listed}) ORDER BY h.id"
        ),
        values,
    ).fetchall()
    names = _Names(connection)
    names.learn(rows)
    changes: dict[int, list[RowChange]] = {}
    for command_id, action, kind, row_id, label, before, after in rows:
        fields = _fields(kind, before, after, names)
        changes.setdefault(command_id, []).append(RowChange(action, kind, row_id, label, fields))
    commands = connection.exec_driver_sql(
        "SELECT id, at, who, command, undoes, undone_by FROM command"
        f" WHERE id IN ({listed}) ORDER BY id DESC"
    )
    return [
        HistoryEntry(row[0], row[1], row[2], row[3], row[4], row[5], tuple(changes[row[0]]))
        for row in commands
    ]


def gathered(changes: Iterable[RowChange]) -> tuple[RowChange, ...]:
    """Tell lists from what to what: the rows of one form or chart as one change of it.

    A row of such a list goes and comes where only its neighbours changed; what says the same as
    before is left out. Its fields are called after the bar they are about.
    """
    told: list[RowChange] = []
    lists: dict[tuple[str, str], tuple[int, dict[_Key, str], dict[_Key, str]]] = {}
    for change in changes:
        if change.kind not in _TOLD_BY_BAR:
            told.append(change)
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
            ChangedField(_bar_said(key), old.get(key), new.get(key))
            for key in sorted(old.keys() | new.keys())
            if old.get(key) != new.get(key)
        )
        told[at] = RowChange("changed", kind, told[at].row_id, label, fields)
    return tuple(told)


_Key = tuple[int, str]
_TOLD_BY_BAR = ("form", "chart")


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
    kind: str, before: str | None, after: str | None, names: _Names
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


class _Names:
    """Names of rows by number: as they are now, or as they were when they went."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: dict[tuple[str, int], str] = {}

    def learn(self, rows: Iterable[Sequence[Any]]) -> None:
        """Look up everything that these change rows refer to, with one query a table."""
        wanted: dict[str, set[int]] = {}
        for row in rows:
            for side in (row[5], row[6]):
                for column, value in (json.loads(side) if side else {}).items():
                    table = _referred(row[2], column)
                    if table in NAME_COLUMNS and isinstance(value, int):
                        wanted.setdefault(table, set()).add(value)
        for table, ids in wanted.items():
            listed = ", ".join(f"{number:d}" for number in ids)
            column = NAME_COLUMNS[table]
            found = self._connection.exec_driver_sql(
                f'SELECT id, "{column}" FROM "{table}" WHERE id IN ({listed})'
            )
            self._known.update({(table, row[0]): str(row[1]) for row in found})
            for gone in sorted(ids - {key[1] for key in self._known if key[0] == table}):
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
