"""Why an audio file cannot be used: one error, five reasons.

Whatever a file holds, reading it ends in an `AudioInfo` or in an `AudioError`; no other exception
leaves this room because of what is in a file.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from logbook.errors import LogbookError


class Reason(StrEnum):
    """What kind of trouble a file gives."""

    EMPTY = "empty"
    """No bytes at all, or a proper header with no sound behind it."""

    FOREIGN = "foreign"
    """Not one of the formats read here."""

    CORRUPT = "corrupt"
    """One of the formats, but contradicting itself."""

    TRUNCATED = "truncated"
    """Cut short: the header promises more sound than the file holds."""

    UNREADABLE = "unreadable"
    """The system does not let it be read: no such file, no permission, not a regular file."""

    UNWRITABLE = "unwritable"
    """Tags cannot be written into it, or not there."""


class AudioError(LogbookError):
    """An audio file that cannot be read, or not be written, and why.

    `path` is the file and `reason` the kind of trouble; `problem` and `remedy` are as in every
    `LogbookError` and do not repeat the path, so that a table can print it in a column of its own.
    """

    def __init__(self, path: Path, reason: Reason, problem: str, remedy: str = "") -> None:
        self.path = path
        self.reason = reason
        super().__init__(problem, remedy)
