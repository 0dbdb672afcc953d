"""Reading a large log on all processors at once, every part of it as it is at one moment.

Conventions
-----------
Each helper process opens the log once and reads in one transaction of its own. Where somebody
has written before that began, the history of it ends with another command than the history of
the one that asked, who then reads that part by itself: what comes together is always one moment
of the log.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import Connection

from logbook.processes import helpers, shared_out
from logbook.store.engine import make_engine
from logbook.store.store import Store
from logbook.store.targets import Target

Argument = TypeVar("Argument")
Result = TypeVar("Result")

_WORTH_HELPERS = 3
"""So many pieces of work for each helper are worth starting them."""


class _Work(NamedTuple):
    target: Target
    moment: tuple[int, str]
    function: Callable[[Connection, Any], Any]
    argument: Any


def in_parts(
    store: Store,
    connection: Connection,
    function: Callable[[Connection, Argument], Result],
    arguments: Sequence[Argument],
) -> Iterator[Result]:
    """Yield what a module's function reads for each argument, in order, as `connection` sees it.

    With much to read it is called in helper processes, on connections of theirs.
    """
    count = helpers()
    if count < 2 or len(arguments) < count * _WORTH_HELPERS:
        yield from (function(connection, each) for each in arguments)
        return
    now = moment(connection)
    work = (_Work(store.target, now, function, each) for each in arguments)
    for each, found in zip(arguments, shared_out(_read_there, work, count), strict=True):
        yield found[0] if found else function(connection, each)


def moment(connection: Connection) -> tuple[int, str]:
    """Return the last command that a connection sees: its number, and when it was given."""
    row = connection.exec_driver_sql("SELECT id, at FROM command ORDER BY id DESC LIMIT 1").first()
    return (int(row[0]), str(row[1])) if row else (0, "")


def _read_there(work: _Work) -> tuple[Any] | None:
    """In a helper: what was read, None where its moment is another one."""
    connection, seen = _connected(work.target)
    return (work.function(connection, work.argument),) if seen == work.moment else None


@cache
def _connected(target: Target) -> tuple[Connection, tuple[int, str]]:
    """A connection of this process that sees one moment for as long as the process lives."""
    connection = make_engine(target).connect()
    if target.dialect == "postgresql":
        connection = connection.execution_options(isolation_level="REPEATABLE READ")
    return connection, moment(connection)
