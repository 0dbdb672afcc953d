"""What is wrong with a session file or a command: all of it, each with its place and its remedy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.errors import LogbookError


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
    """A session file or command that cannot be applied; `problems` are all its mistakes."""

    def __init__(self, problems: Sequence[Mistake], file: str = "") -> None:
        self.problems = tuple(problems)
        self.file = file
        self.sentences = tuple(each.sentence(file) for each in problems)
        super().__init__("\n".join(self.sentences))


def _short(name: str, limit: int = 40) -> str:
    return name if len(name) <= limit else name[: limit - 3] + "..."
