"""What was typed and could not be read, kept until somebody settles it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Remark:
    """A notebook line that stayed as it was typed.

    `name` is its number as text and unique; `why` says what could not be read in it, `place` where
    the work was ("Saltpan Road / album / guitar"), `written_at` the moment (ISO 8601 in UTC).
    `settled` says what became of it, and is empty while it is open.
    """

    name: str
    text: str
    why: str = ""
    place: str = ""
    written_at: str = ""
    settled: str = ""
