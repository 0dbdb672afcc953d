"""The database: models, reading and writing, history, backup. The only room that knows SQL.

`open_log` gives a Store; `with store.reading() as connection:` reads (`read_log`, `find`,
`search`), `with store.change("take add") as change:` writes (`put`, `edit`, `remove`). Each is
loaded when it is first used, since declaring the tables takes longer than printing a sheet.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from logbook.store.editing import edit
    from logbook.store.exchange import import_log
    from logbook.store.finding import FoundRow, LogPlace, find
    from logbook.store.lifecycle import open_log, restore_log
    from logbook.store.log_file import export_log
    from logbook.store.reading import read_log
    from logbook.store.removing import remove
    from logbook.store.searching import search
    from logbook.store.store import Store
    from logbook.store.writing import put

__all__ = [
    "FoundRow",
    "LogPlace",
    "Store",
    "edit",
    "export_log",
    "find",
    "import_log",
    "open_log",
    "put",
    "read_log",
    "remove",
    "restore_log",
    "search",
]

_HOME = {
    "FoundRow": "finding",
    "LogPlace": "finding",
    "Store": "store",
    "edit": "editing",
    "export_log": "log_file",
    "find": "finding",
    "import_log": "exchange",
    "open_log": "lifecycle",
    "put": "writing",
    "read_log": "reading",
    "remove": "removing",
    "restore_log": "lifecycle",
    "search": "searching",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_HOME[name]}"), name)
