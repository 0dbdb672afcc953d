"""What can go wrong with the database, each as one plain sentence."""

from __future__ import annotations

from typing import Any

from logbook.errors import LogbookError


class StoreError(LogbookError):
    """The database cannot be opened, read or written."""


class DamagedError(StoreError):
    """The log's file is damaged, or is no database at all."""


class NotFoundError(LogbookError):
    """Nothing, or more than one thing, goes by the name that was given."""


class HangsOnError(LogbookError):
    """Something else hangs on what is to be removed.

    `counts` says how many of what would go with it; `uses` how many refer to it and would have
    to be changed first.
    """

    def __init__(
        self, problem: str, remedy: str, counts: dict[str, int], uses: dict[str, int]
    ) -> None:
        self.counts = counts
        self.uses = uses
        super().__init__(problem, remedy)


class ConflictError(LogbookError):
    """Somebody else changed the same thing since it was read.

    `theirs` is the record as it stands now, `mine` the fields that were to be written, `who`
    and `at` say whose change it was and when (empty when the history does not say).
    """

    def __init__(
        self,
        problem: str,
        remedy: str,
        *,
        mine: dict[str, Any],
        theirs: Any,
        who: str = "",
        at: str = "",
    ) -> None:
        self.mine = mine
        self.theirs = theirs
        self.who = who
        self.at = at
        super().__init__(problem, remedy)


def plain(error: BaseException) -> StoreError:
    """The sentence for an error of the database driver."""
    original = getattr(error, "orig", None) or error
    text = " ".join(str(original).split())
    low = text.lower()
    for sign, problem, remedy in _SIGNS:
        if sign in low:
            kind = DamagedError if sign in ("file is not a database", "malformed") else StoreError
            return kind(problem, remedy)
    return StoreError(f"the database says: {text}", "nothing was changed")


_SIGNS = (
    (
        "disk is full",
        "the disk is full, and nothing was changed",
        "make room on it and give the command again",
    ),
    (
        "no space left",
        "the disk is full, and nothing was changed",
        "make room on it and give the command again",
    ),
    (
        "could not extend",
        "the database server's disk is full, and nothing was changed",
        "make room on it and give the command again",
    ),
    (
        "disk i/o error",
        "the disk could not be read or written, and nothing was changed",
        "see whether it is full or damaged, then give the command again",
    ),
    (
        "readonly database",
        "the log may only be read here, and nothing was changed",
        "give yourself the right to write the file and its folder, or name another with --db",
    ),
    (
        "database is locked",
        "somebody else has been writing to the log for too long, and nothing was changed",
        "give the command again in a moment",
    ),
    (
        "lock timeout",
        "somebody else has been writing to the log for too long, and nothing was changed",
        "give the command again in a moment",
    ),
    (
        "file is not a database",
        "the file is not a logbook database",
        "name another file with --db or LOGBOOK_DB; this one was left as it is",
    ),
    (
        "malformed",
        "the log's file is damaged",
        "bring back the last backup with `logbook restore`",
    ),
    (
        "unable to open database file",
        "the log's file cannot be opened, and nothing was changed",
        "see whether its folder exists and may be written, or name another with --db",
    ),
    (
        "exceeds btree",
        "a name is longer than this database can tell apart",
        "give it a shorter one; nothing was changed",
    ),
    (
        "permission denied",
        "the database does not let you do that, and nothing was changed",
        "ask its owner for the right to read and write",
    ),
)
