"""The language of the log: session files and notebook lines, read, printed and applied.

`read_session` reads a session file by itself, `write_session` writes a log as one; `apply_text`
of `logbook.notebook.applying` puts one into a log in a database.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logbook.records import Log

__all__ = ["read_session", "write_session"]


def read_session(text: str, *, folder: str = "") -> Log:
    """Return the log a session file says by itself; `folder` is where its relative paths begin.

    Raises NotebookError with every mistake, each with its line.
    """
    from logbook.notebook.read import read_log

    return read_log(text, folder=folder)


def write_session(log: Log) -> str:
    """Return a session file that reads back as the same log."""
    from logbook.notebook.write import write_log

    return write_log(log)
