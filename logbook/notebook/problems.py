"""What is wrong with a session file or a command: all of it, each with its place and its remedy."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from logbook.errors import LogbookError

_SHOWN = 3  # of mistakes that are alike, before the others are only counted
_MANY = 8  # so many others are a flood
_ITS_OWN = re.compile(r'".*"|\d+')
"""What differs between mistakes that are alike: the names in them, and numbers."""


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """One mistake: where it stands in the log and on which line of the file (None: no file)."""

    problem: str
    remedy: str
    where: tuple[str, ...] = ()
    line: int | None = None

    def sentence(self, file: str = "") -> str:
        """Return file, line, place, what is wrong and what would be right."""
        place = f"{file}, line {self.line}: " if file and self.line is not None else ""
        if self.where:
            place += " / ".join(_short(each) for each in self.where) + ": "
        return place + (f"{self.problem}; {self.remedy}" if self.remedy else self.problem)


class NotebookError(LogbookError):
    """A session file or command that cannot be applied; `problems` are all its mistakes.

    `sentences` tell them; of those that are alike the first few, and how many more there are.
    """

    def __init__(self, problems: Sequence[Mistake], file: str = "") -> None:
        self.problems = tuple(problems)
        self.file = file
        self.sentences = tuple(_told(problems, file))
        super().__init__("\n".join(self.sentences))


def _told(problems: Sequence[Mistake], file: str) -> Iterator[str]:
    kinds = [_kind(each) for each in problems]
    counts = Counter(kinds)
    seen: Counter[tuple[str, ...]] = Counter()
    for kind, each in zip(kinds, problems, strict=True):
        seen[kind] += 1
        more = counts[kind] - _SHOWN
        if seen[kind] <= _SHOWN or more < _MANY:
            yield each.sentence(file)
        if seen[kind] == _SHOWN and more >= _MANY:
            last = [other.line for one, other in zip(kinds, problems, strict=True) if one == kind]
            where = f", the last in line {last[-1]}" if file and last[-1] is not None else ""
            yield f"and {more} more like it{where}"


def _kind(mistake: Mistake) -> tuple[str, ...]:
    """What mistakes that are alike have in common."""
    return (_ITS_OWN.sub("", mistake.problem), _ITS_OWN.sub("", mistake.remedy))


def _short(name: str, limit: int = 40) -> str:
    return name if len(name) <= limit else name[: limit - 3] + "..."
