"""One notebook line read where the work is.

A line is tried as each kind of fact in turn; the first that knows it reads it, or says what in it
is wrong. What no kind knows cannot be read, and stays a remark until somebody settles it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.errors import LogbookError
from logbook.notebook.lines.facts import Fact
from logbook.notebook.lines.read_comps import read_comp
from logbook.notebook.lines.read_hands import (
    read_chart,
    read_form,
    read_pattern_line,
    read_voicings,
)
from logbook.notebook.lines.read_paper import read_entry
from logbook.notebook.lines.read_places import read_person, read_place
from logbook.notebook.lines.read_settings import read_setting
from logbook.notebook.lines.read_takes import read_note, read_placed_note, read_take
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import plain_line

Reader = Callable[[str, Where], Fact | None]

READERS: tuple[Reader, ...] = (
    read_place,
    read_comp,
    read_entry,
    read_note,
    read_take,
    read_setting,
    read_voicings,
    read_form,
    read_pattern_line,
    read_chart,
    read_placed_note,
    read_person,
)
"""In the order in which they are asked."""

EXAMPLES = (
    "song Saltpan Road", "part guitar on the cedar one, Oda", "A 8 bars, B 8 bars, A, B",
    "Bm7 x24232", "A: Bm7 Gmaj7 x4", "t2 keeper 1-16", "comp t2 1-16 x2", "note 12: let it ring",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Understood:
    """A line as it was read: its fact, or None and in `why` and `remedy` what is wrong with it."""

    line: str
    fact: Fact | None
    why: str = ""
    remedy: str = ""


def read_line(text: str, where: Where) -> Understood:
    """Read one line; never raises for what a person may type."""
    line = plain_line(text)
    try:
        for reader in READERS:
            fact = reader(line, where)
            if fact is not None:
                return Understood(line=line, fact=fact)
    except LogbookError as error:
        return Understood(line=line, fact=None, why=error.problem, remedy=error.remedy)
    return Understood(
        line=line,
        fact=None,
        why="no notebook line begins like this",
        remedy="lines look like " + "; ".join(EXAMPLES[:4]) + " (docs/notebook.md)",
    )
