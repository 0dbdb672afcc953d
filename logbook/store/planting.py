"""Records that are new with all that they hold, put into the log in a few statements.

Conventions
-----------
A song that was never in the log needs no looking for what of it already exists. Its rows get
their numbers first, then what they say is worked out (what refers to a part, voicing or pattern of
its own finds it among the new ones), and each table takes its rows at once. The history says of
them what it says of rows that come one by one. What only the slower way can sort out (names
written twice, files that hang elsewhere) is left to it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.exc import IntegrityError

from logbook.names import spelling
from logbook.store.bulk import insert_many, reserve, usual
from logbook.store.changing import Change
from logbook.store.finding import NAME_COLUMNS, names_in
from logbook.store.layout import SHAPES, TABLE_OF, Shape
from logbook.store.loading import has_position
from logbook.store.models import Base
from logbook.store.reading import file_ids
from logbook.store.values import WITHIN, columns_for, resolve

BATCH = 50


@dataclass(slots=True)
class _Node:
    """One record on its way to a row: `over` is the one it belongs to, by `column`."""

    shape: Shape
    record: Any
    over: _Node | None
    column: str
    position: int
    id: int = 0

    def above(self, table: str) -> _Node | None:
        """The nearest one around it (or itself) that goes into this table."""
        node: _Node | None = self
        while node is not None and node.shape.table != table:
            node = node.over
        return node


def plant_new(change: Change, records: Sequence[Any]) -> list[Any]:
    """Put those of these top records into the log that are new; return the others, in order.

    They are all of one kind. Raises LogbookError for a value that the log cannot hold and for a
    name that is not in it.
    """
    if not records:
        return []
    shape = SHAPES[TABLE_OF[type(records[0])]]
    if shape.owners or len(shape.key) != 1:
        return list(records)
    taken = {spelling(name) for name in names_in(change.connection, shape.table)}
    left: list[Any] = []
    held: list[Any] = []
    for record in records:
        name = spelling(getattr(record, shape.key[0]))
        if name in taken or not _stands_alone(shape, record):
            left.append(record)
        else:
            held.append(record)
        taken.add(name)
    placed: set[tuple[str, str]] = set()
    for start in range(0, len(held), BATCH):
        batch = []
        for record in held[start : start + BATCH]:
            files = _files_of(shape, record)
            if len(set(files)) < len(files) or placed & set(files) or _known(change, files):
                left.append(record)
            else:
                batch.append(record)
            placed |= set(files)
        if not _plant(change, shape, batch):
            left += batch
    return left


def _files_of(shape: Shape, record: Any) -> list[tuple[str, str]]:
    """Folder and path of every audio file in a record."""
    nodes = _walk(shape, record, None, "", 0)
    files = [node.record for node in nodes if node.shape.table == "audio_file"]
    return [(each.folder, each.path) for each in files]


def _known(change: Change, files: Sequence[tuple[str, str]]) -> bool:
    """Whether one of these files is in the log already, and would move."""
    by_folder: dict[str, list[str]] = {}
    for folder, path in files:
        by_folder.setdefault(folder, []).append(path)
    return any(
        file_ids(change.connection, folder, paths[start : start + 500])
        for folder, paths in by_folder.items()
        for start in range(0, len(paths), 500)
    )


def _stands_alone(shape: Shape, record: Any) -> bool:
    """Whether nothing in a record is there twice, or goes first for another thing's sake."""
    for child in shape.children:
        below = SHAPES[child.table]
        value = getattr(record, child.field)
        held = ([] if value is None else [value]) if child.single else value
        if not below.listed and len(held) > 1:
            keys = {tuple(_plain(getattr(each, name)) for name in below.key) for each in held}
            if len(keys) < len(held):
                return False
        if child.table == "comp" and sum(bool(each.final) for each in held) > 1:
            return False
        if below.children and not all(_stands_alone(below, each) for each in held):
            return False
    return True


def _plain(value: Any) -> Any:
    return spelling(value) if isinstance(value, str) else value


def _plant(change: Change, shape: Shape, records: Sequence[Any]) -> bool:
    """Put new records in; False, with nothing done, where one of them needs the slower way."""
    if not records:
        return True
    change.session.flush()
    nodes = [node for record in records for node in _walk(shape, record, None, "", 0)]
    counted = Counter(node.shape.table for node in nodes)
    ids = {
        table: iter(reserve(change.connection, table, count)) for table, count in counted.items()
    }
    for node in nodes:
        node.id = next(ids[node.shape.table])
    rows = _rows(change, nodes)
    by_table: dict[str, list[dict[str, Any]]] = {}
    for node, row in zip(nodes, rows, strict=True):
        by_table.setdefault(node.shape.table, []).append(row)
    try:
        with change.connection.begin_nested():
            for table in Base.metadata.sorted_tables:
                insert_many(change.connection, table, by_table.get(table.name, ()))
    except IntegrityError:
        # One by one it shows which of them it is.
        return False
    # In the tables' order: taking it back meets what refers before what is referred to.
    for table in Base.metadata.sorted_tables:
        for row in by_table.get(table.name, ()):
            change.note_added(table.name, row)
            if SHAPES[table.name].children:
                change.know_place(table.name, row)
    change.let_go()
    return True


def _walk(
    shape: Shape, record: Any, over: _Node | None, column: str, position: int
) -> Iterator[_Node]:
    node = _Node(shape, record, over, column, position)
    yield node
    for child in shape.children:
        value = getattr(record, child.field)
        held = (() if value is None else (value,)) if child.single else value
        for at, each in enumerate(held):
            yield from _walk(SHAPES[child.table], each, node, child.column, at)


def _rows(change: Change, nodes: Sequence[_Node]) -> list[dict[str, Any]]:
    """The columns of every node's row, its number and its owner's with them."""
    names = _PlantedNames(change, nodes)
    blanks: dict[str, dict[str, Any]] = {}
    plain: dict[str, tuple[set[str], list[Any]]] = {}
    rows = []
    for node in nodes:
        shape = node.shape
        table = shape.table
        if table not in blanks:
            columns = Base.metadata.tables[table].columns
            blanks[table] = {each.key: usual(each) for each in columns if each.key != "id"}
            within = [f for f in shape.fields if f.kind == "ref" and names.finds(f.table)]
            others = {f.name for f in shape.fields} - {f.name for f in within}
            plain[table] = others, within
        owner = {node.column: node.over.id} if node.over is not None else {}
        others, within = plain[table]
        row = {"id": node.id, **blanks[table]}
        row |= columns_for(change, shape, node.record, owner, others)
        for field in within:
            name = getattr(node.record, field.name)
            row[field.columns[0]] = names.number(field.table, name, node) if name else None
        row |= owner
        if has_position(shape):
            row["position"] = node.position
        rows.append(row)
    return rows


class _PlantedNames:
    """What names in new records mean: things of the log by name, and parts of one another."""

    def __init__(self, change: Change, nodes: Sequence[_Node]) -> None:
        self._change = change
        self._known: dict[tuple[str, str], int] = {}
        self._own: dict[tuple[str, int], dict[str, int]] = {}
        for node in nodes:
            if node.shape.table in WITHIN and node.over is not None:
                named = self._own.setdefault((node.shape.table, node.over.id), {})
                name = str(getattr(node.record, NAME_COLUMNS[node.shape.table]))
                named[name] = node.id
                named.setdefault(spelling(name), node.id)

    def finds(self, table: str) -> bool:
        """Whether things of this table are told by their names alone, or within one owner."""
        return table in WITHIN or table not in ("version", "arrangement")

    def number(self, table: str, name: str, node: _Node) -> int:
        """The number of the row that a node means by a name."""
        if table not in WITHIN:
            if (table, name) not in self._known:
                self._known[table, name] = resolve(self._change, table, name, {})
            return self._known[table, name]
        kind = WITHIN[table].removesuffix("_id")
        around = node.above(kind)
        own = self._own.get((table, around.id), {}) if around is not None else {}
        found = own.get(name) or own.get(spelling(name))
        if found is not None:
            return found
        return self._missing(table, name, own)

    def _missing(self, table: str, name: str, own: Collection[str]) -> int:
        from logbook.names import none_called
        from logbook.store.errors import NotFoundError
        from logbook.store.finding import noun

        missing = none_called(name, list(own), noun(table), f"add the {noun(table)} first")
        raise NotFoundError(missing.problem, missing.remedy)
