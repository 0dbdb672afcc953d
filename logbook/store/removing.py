"""Taking things out of the log: first what hangs on them is counted, then it goes with them.

Conventions
-----------
What belongs to a row goes with it, once that is confirmed. What merely refers to it (a part
played on an instrument, a chart entry that names a voicing) stands in the way until it says
something else. Every row that goes is in the history, so an undo brings it all back.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from sqlalchemy import ForeignKey, Table, select

from logbook.store.changing import UNRECORDED, Change
from logbook.store.drawn import COLUMNS, drawing_on
from logbook.store.errors import HangsOnError, NotFoundError
from logbook.store.finding import FoundRow, noun
from logbook.store.models import MODELS, Base
from logbook.store.writing import Done


class Hanging(NamedTuple):
    """Rows that go with a thing, leaves last, and how many rows elsewhere refer to them."""

    rows: tuple[tuple[str, int], ...]
    uses: dict[str, int]
    drawn: tuple[str, ...] = ()  # the comp pieces elsewhere among the uses, as a person says them

    @property
    def used_by(self) -> str:
        """What refers to it, in words."""
        others = {kind: count for kind, count in self.uses.items() if kind != "comp_piece"}
        said = list(self.drawn[:4])
        if len(self.drawn) > 4:
            said.append(f"{len(self.drawn) - 4} other pieces of comps")
        return ", ".join([*([listed(others)] if others else []), *said])

    @property
    def counts(self) -> dict[str, int]:
        """How many rows of what go with it."""
        counts: dict[str, int] = {}
        for kind, _ in self.rows:
            counts[kind] = counts.get(kind, 0) + 1
        return counts


def hanging(change: Change, found: FoundRow) -> Hanging:
    """What would go with the row that was found, and what refers to any of it from elsewhere."""
    going: dict[tuple[str, int], None] = {}
    wave = {found.kind: {found.id}}
    references: list[tuple[str, set[int]]] = []
    while wave:
        following: dict[str, set[int]] = {}
        for kind, ids in wave.items():
            for table, key in pointing_at(kind):
                rows = rows_pointing(change, table, key, ids)
                if key.ondelete != "CASCADE":
                    references.append((table.name, rows))
                    continue
                fresh = {row for row in rows if (table.name, row) not in going}
                fresh.discard(found.id if table.name == found.kind else -1)
                going.update(dict.fromkeys((table.name, row) for row in sorted(fresh)))
                if fresh:
                    following.setdefault(table.name, set()).update(fresh)
        wave = following
    uses: dict[str, int] = {}
    for kind, ids in references:
        outside = sum((kind, row) not in going for row in ids)
        if outside:
            uses[kind] = uses.get(kind, 0) + outside
    drawn = _drawn(change, found, {*going, (found.kind, found.id)})
    if drawn:
        uses["comp_piece"] = uses.get("comp_piece", 0) + len(drawn)
    return Hanging(tuple(going), uses, tuple(drawn))


def _drawn(change: Change, found: FoundRow, rows: set[tuple[str, int]]) -> list[str]:
    """The comp pieces elsewhere that draw on what would go."""
    if not COLUMNS.keys() & {kind for kind, _ in rows}:
        return []
    song = change.place(found.kind, found.id)[0].partition("/")[0].partition(" ")
    return drawing_on(change, rows, [int(song[2])]) if song[0] == "song" else []


def pointing_at(kind: str) -> list[tuple[Table, ForeignKey]]:
    """The tables with a foreign key to `kind`, and that key."""
    skipped = {model.__tablename__ for model in UNRECORDED}
    return [
        (table, key)
        for table in Base.metadata.sorted_tables
        for key in table.foreign_keys
        if key.column.table.name == kind and table.name not in skipped
    ]


def rows_pointing(change: Change, table: Table, key: ForeignKey, ids: set[int]) -> set[int]:
    """The rows of `table` that point at any of `ids`."""
    found: set[int] = set()
    wanted = sorted(ids)
    for start in range(0, len(wanted), 500):
        statement = select(table.c.id).where(key.parent.in_(wanted[start : start + 500]))
        found.update(change.connection.scalars(statement))
    return found


def _rows(change: Change, kind: str, ids: list[int]) -> list[Any]:
    model: Any = MODELS[kind]
    rows: list[Any] = []
    for start in range(0, len(ids), 500):
        wanted = ids[start : start + 500]
        rows.extend(change.session.scalars(select(model).where(model.id.in_(wanted))))
    return rows


def remove(change: Change, found: FoundRow, *, confirmed: bool = False) -> list[Done]:
    """Take the row out with all that belongs to it; the row's own outcome comes first.

    Raises HangsOnError, with the counts, while something hangs on it and `confirmed` is False,
    or while something else refers to it.
    """
    row: Any = change.session.get(MODELS[found.kind], found.id)
    if row is None:
        raise NotFoundError(f"the {noun(found.kind)} {found.name!r} is no longer in the log", "")
    hung = hanging(change, found)
    label = change.place_of(row)[1]
    if hung.uses:
        raise HangsOnError(
            f"{label} is used by {hung.used_by}",
            "change those first; nothing was removed",
            hung.counts,
            hung.uses,
        )
    if hung.rows and not confirmed:
        raise HangsOnError(
            f"{listed(hung.counts)} belong to {label}",
            "confirm that they go too; nothing was removed",
            hung.counts,
            {},
        )
    order = {table.name: at for at, table in enumerate(Base.metadata.sorted_tables)}
    dones = [Done("removed", found.kind, label, (), found.id)]
    for kind in sorted(hung.counts, key=lambda each: -order[each]):
        for gone in _rows(change, kind, [row for each, row in hung.rows if each == kind]):
            dones.append(Done("removed", kind, change.place_of(gone)[1], (), gone.id))
            change.session.delete(gone)
        change.session.flush()
    change.session.delete(row)
    change.session.flush()
    return dones


def listed(counts: dict[str, int]) -> str:
    """ "3 takes, 1 comp": counts by table as a person says them."""
    return ", ".join(
        f"{count} {noun(kind) if count == 1 else _many(noun(kind))}"
        for kind, count in sorted(counts.items())
    )


def _many(word: str) -> str:
    if word in ("chart", "form", "reused"):
        return {"chart": "chart entries", "form": "sections of the form", "reused": "reused"}[word]
    return word[:-1] + "ies" if word.endswith("ry") else word + "s"
