"""Where a value of the log stands while it is read: the log around it, the records it belongs to.

Readers (`values`) and declarations (`declare`) both speak of these.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

Record = Any
"""One of the frozen dataclasses of `logbook.records`."""

Value = Any
"""What a TOML text or a command's option holds."""


class Known(Protocol):
    """The log as far as a reader has to look things up in it."""

    def names(self, noun: str) -> Sequence[str]:
        """Return the names of all people, tunings, instruments, sessions or songs."""

    def find(self, noun: str, name: str) -> Record | None:
        """Return the record of this name, in any spelling of it, or None."""

    def add(self, noun: str, record: Record) -> None:
        """Take in something that was implied, such as a usual tuning."""


@dataclass(frozen=True, kw_only=True)
class Context:
    """Where a value stands: the log around it and the records it belongs to, outermost first.

    `folder` is the folder that file paths count from (None: each file says its own), `session` the
    session that takes belong to where nothing else is said (None: it has to be said), `coming` the
    names of parts that are read later on.
    """

    known: Known
    owners: tuple[Record, ...] = ()
    folder: str | None = ""
    session: str | None = ""
    coming: tuple[str, ...] = ()

    def owner(self, record: type) -> Record | None:
        """Return the innermost record of this type that the value stands in."""
        return next((each for each in reversed(self.owners) if isinstance(each, record)), None)

    def inside(self, owner: Record) -> Context:
        """Return the context of what stands inside `owner`."""
        # A log has hundreds of thousands of these; the initializer sets each field by itself.
        made = object.__new__(Context)
        made.__dict__.update(self.__dict__, owners=(*self.owners, owner))
        return made


Reader = Callable[[Value, Context], Any]
