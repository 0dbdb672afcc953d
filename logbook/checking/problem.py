"""One finding of the checks, as plain data; what cannot be read is one instead of the end."""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError

CONTRADICTS = "contradicts"
MISSING = "missing"


class Problem(NamedTuple):
    """What contradicts what in the log.

    `rule` names the check, `where` the place ("Low Tide Ledger, EP, guitar: voicing Am7"),
    `what` the contradiction, `why` the grounds, `mend` what would put it right. `kind` is
    "contradicts", or "missing" for what the log only has not said yet.
    """

    rule: str
    where: str
    what: str
    why: str
    mend: str
    kind: str = CONTRADICTS


def unreadable(rule: str, where: str, error: LogbookError) -> Problem:
    """Return the problem that something logged cannot be read."""
    return Problem(rule, where, error.problem, "the log cannot be read here", error.remedy)
