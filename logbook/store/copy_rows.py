"""Copies of the log's files, read and written for all files at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection

from logbook.records import FileCopy
from logbook.store.changing import Change
from logbook.store.layout import SHAPES
from logbook.store.loading import load
from logbook.store.writing import replace_list


def read_copies(connection: Connection) -> dict[int, tuple[FileCopy, ...]]:
    """Return where each file also lies, by its row number."""
    found: dict[int, list[FileCopy]] = {}
    for row in load(connection, "file_copy", "", "audio_file_id"):
        assert row.owner is not None
        found.setdefault(row.owner, []).append(row.record)
    return {number: tuple(copies) for number, copies in found.items()}


def write_copies(change: Change, copies: Mapping[int, Sequence[FileCopy]]) -> None:
    """Say anew where these files also lie, by their row numbers."""
    for number, several in copies.items():
        replace_list(change, SHAPES["file_copy"], tuple(several), {"audio_file_id": number})
