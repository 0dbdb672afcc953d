"""`logbook files verify`: where the log's files also lie; and what `logbook files` says of that."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.log import opened, settings
from logbook.cli.options import JsonOption
from logbook.cli.printing import local_time, print_json, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.importing.copying import CopiesReport

_MOST = 12


def copies_lines(report: CopiesReport) -> Iterator[str]:
    """Say which files have one copy only, as far as the log knows."""
    count = len(report.single)
    if not report.total:
        return
    if count == report.total:
        which = "It has" if count == 1 else f"All {count} have"
        yield from wrap(
            f"{which} only one copy, as far as the log knows; logbook files verify FOLDER notes"
            " where else they are.",
            width(),
        )
        return
    if not count:
        yield f"Each has a copy elsewhere; the oldest was verified {local_time(report.oldest)}."
        return
    yield f"Only one copy of {count}:"
    for place in report.single[:_MOST]:
        folder, _, name = place.rpartition("/")
        yield f"  {name}{f'  in {folder}' if folder else ''}"
    if count > _MOST:
        yield f"  and {count - _MOST} more"


def verify(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where the copies are: a drive or a folder.")
    ],
    medium: Annotated[
        str, typer.Option("--on", metavar="NAME", help="What that is called, as in 'blue drive'.")
    ] = "",
    as_json: JsonOption = False,
) -> None:
    """Look for copies of the log's files in a folder, by their sound, and note when.

    Exit code 1 where a copy that was noted there is gone or sounds otherwise now.
    """
    from logbook.cli.import_ import progress_bar
    from logbook.importing.copying import report_copies, verify_copies

    if not folder.is_dir():
        raise LogbookError(
            f"{folder} is not a folder", "name the drive or folder the copies are in"
        )
    with opened() as store, progress_bar() as on_progress:
        found = verify_copies(
            store,
            folder,
            medium=medium,
            command=settings.command or "files verify",
            on_progress=on_progress,
        )
        report = report_copies(store)
    if as_json:
        data = {
            name: [{"file": file, "copy": copy} for file, copy in getattr(found, name)]
            for name in ("found", "lost", "changed")
        }
        print_json(data | {"strange": found.strange, "one_copy": list(report.single)})
    else:
        for heading, several in (
            ("No longer there", found.lost),
            ("Different sound from the file's", found.changed),
        ):
            if several:
                say(f"{heading}:")
                for _, copy in several:
                    say(f"  {copy}")
        count = len(found.found)
        others = f"; {found.strange} other sounds are not in the log" if found.strange else ""
        say(f"{count} cop{'y' if count == 1 else 'ies'} verified in {folder}{others}.")
        for line in copies_lines(report):
            say(line)
    if found.lost or found.changed:
        raise typer.Exit(1)
