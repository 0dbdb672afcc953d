"""What was typed and could not be read, kept until somebody settles it."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import needed, written


@dataclass(frozen=True, kw_only=True)
class Remark:
    """A notebook line that stayed as it was typed.

    `name` is its number as text and unique; `why` says what could not be read in it, `place` where
    the work was ("Saltpan Road / album / guitar"), `written_at` the moment (ISO 8601 in UTC).
    `settled` says what became of it, and is empty while it is open.
    """

    name: str = field(metadata=needed("its number", "3", "name"))
    text: str = field(metadata=needed("the line as it was typed", "the odd bit", "text"))
    why: str = written(
        "", "what in it could not be read", "no notebook line begins like this", "text"
    )
    place: str = written("", "where the work was", "Low Water / album / guitar", "text")
    written_at: str = written("", "when it was written", "2026-05-02T10:14:00.000Z", "text")
    settled: str = written(
        "", "what became of it (empty: nothing yet)", "asked Oda, it was take 4", "text"
    )
