"""SQL statements compiled once for all logs of a kind.

SQLAlchemy keeps what it compiled by engine, and a test's log has an engine of its own: a fifth of
the time of the tests of logs was spent on compiling the same statements again.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy.engine import Engine
from sqlalchemy.engine.default import DefaultDialect
from sqlalchemy.util import LRUCache

_COUNT = 3000
_kept: dict[type, Any] = {}
_begin = Engine.__init__


def share_compiled() -> None:
    """Let engines of one kind of database have their compiled statements in common.

    What differs between logs (place, rows, when a connection is opened) is in none of them.
    """

    def begin(engine: Engine, *given: Any, **named: Any) -> None:
        _begin(engine, *given, **named)
        kind = type(engine.dialect)
        engine._compiled_cache = _kept.setdefault(kind, LRUCache(_COUNT))

    # What is compiled is kept by the dialect, too, which knows no log either.
    Engine.__init__ = begin  # type: ignore[method-assign]
    DefaultDialect.__eq__ = _same_kind  # type: ignore[method-assign,assignment]
    DefaultDialect.__hash__ = _hash_of_kind  # type: ignore[method-assign,assignment]


def _same_kind(one: object, other: object) -> bool:
    return type(one) is type(other)


def _hash_of_kind(dialect: object) -> int:
    return hash(type(dialect))
