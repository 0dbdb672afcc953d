"""The tables as SQLAlchemy models: the one place that says what the database looks like.

Only writing and migrating import this package; reading does without it, because declaring
the classes takes longer than printing a sheet.
"""

from __future__ import annotations

from collections.abc import Mapping

from logbook.store.layout import SHAPES, Shape
from logbook.store.models import (
    arrangements,
    files,
    history,
    outgoing,
    paper,
    parts,
    people,
    places,
    remarks,
    songs,
    takes,
)
from logbook.store.models.base import Base

MODELS: dict[str, type[Base]] = {
    str(mapper.local_table.name): mapper.class_  # type: ignore[attr-defined]
    for mapper in Base.registry.mappers
}


def refuse_homeless(shapes: Mapping[str, Shape]) -> None:
    """Raise TypeError for a field of a record that no column keeps: it would be dropped."""
    for table, shape in shapes.items():
        there = set(MODELS[table].__table__.columns.keys()) if table in MODELS else set()
        for field in shape.fields:
            for column in field.columns:
                if column not in there:
                    raise TypeError(
                        f"{shape.record.__name__}.{field.name} has no column {column} in the table"
                        f" {table}: give its row one in logbook/store/models, and write a migration"
                    )


refuse_homeless(SHAPES)

# SQLite alone would give a removed row's number to the next one, and confuse the history.
for _table in Base.metadata.tables.values():
    _table.dialect_options["sqlite"]["autoincrement"] = True

__all__ = [
    "MODELS",
    "Base",
    "arrangements",
    "files",
    "history",
    "outgoing",
    "paper",
    "parts",
    "people",
    "places",
    "refuse_homeless",
    "remarks",
    "songs",
    "takes",
]
