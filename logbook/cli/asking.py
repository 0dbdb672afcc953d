"""Asking before something is done that cannot be seen, and showing how far work has come."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from logbook.cli.paging import let_through
from logbook.cli.printing import colourful, remark
from logbook.errors import LogbookError


def confirm(question: str, yes: bool, otherwise: str = "add --yes") -> None:
    """Go on if `yes`, or if a person at the terminal says so.

    Raises LogbookError where nobody can be asked, or the answer is no.
    """
    if yes:
        return
    if not sys.stdin.isatty():
        raise LogbookError(question.rstrip(" ?"), f"if that is meant, {otherwise}")
    let_through()
    remark(f"{question.rstrip(' ?')}? Type yes to go on.")
    if input().strip().casefold() not in {"y", "yes"}:
        raise LogbookError("nothing was changed", "")


@contextmanager
def progress(total: int, what: str) -> Iterator[Callable[[int], None]]:
    """Show a bar on the error output while work goes on; silent where that is no terminal.

    Yields a function that is told how much more has been done.
    """
    if not sys.stderr.isatty() or total <= 0:
        yield lambda done: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True, no_color=not colourful()),
        transient=True,
    ) as bar:
        task = bar.add_task(what, total=total)
        yield lambda done: bar.advance(task, done)
