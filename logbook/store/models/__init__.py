"""The tables as SQLAlchemy models: the one place that says what the database looks like.

Only writing and migrating import this package; reading does without it, because declaring
the classes takes longer than printing a sheet.
"""

from __future__ import annotations

from logbook.store.models import (
    arrangements,
    files,
    history,
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

# SQLite alone would give a removed row's number to the next one, and confuse the history.
for _table in Base.metadata.tables.values():
    _table.dialect_options["sqlite"]["autoincrement"] = True

__all__ = [
    "MODELS",
    "Base",
    "arrangements",
    "files",
    "history",
    "parts",
    "people",
    "places",
    "remarks",
    "songs",
    "takes",
]
