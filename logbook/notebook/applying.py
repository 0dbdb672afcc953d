"""A session file applied to the log in the database, and the log written out as one.

Everything of a file goes into one transaction of the caller's; see `logbook.store`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from logbook.names import spelling
from logbook.notebook.declare import Record
from logbook.notebook.nouns import LOG
from logbook.notebook.read import FileReading, read_text
from logbook.notebook.working_copy import Name
from logbook.store.finding import names_in
from logbook.store.reading import file_ids, ids_named, read_one

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.changing import Change

KINDS = {
    "file": "audio_file",
    "input": "input_channel",
    "technique-note": "technique_note",
    "chart-entry": "chart",
    "section": "form",
    "meter": "meter_change",
    "tempo": "tempo_change",
    "punch-in": "punch_in",
    "piece": "comp_piece",
    "arranged-section": "arranged_section",
    "arranged-part": "arranged_part",
    "track": "project_track",
    "setlist-entry": "setlist_entry",
    "heard-double": "heard_double",
    "file-copy": "file_copy",
    "heard-chord": "heard_chord",
}
"""The store's word for a noun, where it is another one."""


def kind_of(noun: str) -> str:
    """Return the store's word for a noun."""
    return KINDS.get(noun, noun)


class StoreKnown:
    """The log in the database, to look things up in while a file or command is read."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._names: dict[str, tuple[str, ...]] = {}
        self._found: dict[tuple[str, Any], Record | None] = {}
        self._spellings: dict[str, tuple[frozenset[str], dict[str, str]]] = {}
        self.implied: list[Record] = []

    def names(self, noun: str) -> Sequence[str]:
        """Return the names of all people, tunings, instruments, sessions or songs."""
        if noun not in self._names:
            self._names[noun] = tuple(names_in(self._connection, kind_of(noun)))
        return self._names[noun]

    def find(self, noun: str, name: Name) -> Record | None:
        """Return the record of this name, in any spelling of it, or None."""
        if (noun, name) not in self._found:
            self._found[noun, name] = self._read(noun, name)
        return self._found[noun, name]

    def _read(self, noun: str, name: Name) -> Record | None:
        if noun == "file":
            folder, path = name
            ids = file_ids(self._connection, folder, [path])
            row = read_one(self._connection, "audio_file", ids[0]) if ids else None
            return row.record if row else None
        written = self._as_written(noun, str(name))
        ids = ids_named(self._connection, kind_of(noun), [written]) if written is not None else []
        row = read_one(self._connection, kind_of(noun), ids[0]) if ids else None
        return row.record if row else None

    def _as_written(self, noun: str, name: str) -> str | None:
        """The name that is in the log, of which this is a spelling; looked for in a list of all
        of them, since a file names thousands."""
        if noun not in self._spellings:
            names = names_in(self._connection, kind_of(noun))
            spellings: dict[str, str] = {}
            for each in names:
                spellings.setdefault(spelling(each), each)
            self._spellings[noun] = frozenset(names), spellings
        names_there, spellings = self._spellings[noun]
        return name if name in names_there else spellings.get(spelling(name))

    def add(self, noun: str, record: Record) -> None:
        """Take in a usual tuning that was named."""
        self.implied.append(record)
        self._names[noun] = (*self.names(noun), record.name)
        self._found[noun, record.name] = record


def read_on_log(connection: Connection, text: str, *, folder: str, file: str) -> FileReading:
    """Read a session file on top of the log. Raises NotebookError with every mistake."""
    return read_text(text, StoreKnown(connection), folder=folder, file=file)


def apply_text(
    change: Change, text: str, *, folder: str = "", file: str = "session file"
) -> FileReading:
    """Put all that a session file says into the log.

    Raises NotebookError with every mistake, and LogbookError for what the log cannot hold; the
    caller's transaction then changes nothing.
    """
    reading = read_on_log(change.connection, text, folder=folder, file=file)
    for collection in LOG.collections:
        put_all(change, reading.records(collection.noun))
    return reading


def put_all(change: Change, records: Sequence[Record]) -> None:
    """Put top records of one noun into the log, the new ones together."""
    from logbook.store.planting import plant_new
    from logbook.store.writing import put

    for record in plant_new(change, records):
        put(change, record)
