"""`logbook project`: releases, and the sheet of one: its tracks and how far each has come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import completing
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Log, Project
    from logbook.sheets.looks import Sheet
    from logbook.store.store import Store

app = noun_app("project", default="list")


@app.command(
    "sheet",
    epilog=examples("logbook project sheet Boathouse", "logbook project sheet --out album.pdf"),
)
@handed_out("a release", *TABLE_SHEET)
def sheet(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="The release, if there are several.",
            autocompletion=completing("project"),
        ),
    ] = "",
) -> Sheet:
    """Print a release: tracks, how far their parts have come, hours, and what is still to do."""
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.releases import AskedRelease

    with opened() as store:
        log, project = release_log(store, name)
    return make_sheet("release", AskedRelease(log, project))


def release_log(store: Store, name: str = "") -> tuple[Log, Project]:
    """Return the log of a release's songs, and the release; the only one where none is named.

    Raises LogbookError where it is not there, or not clear which is meant.
    """
    from logbook.store.finding import exactly, find, names_in
    from logbook.store.reading import read_log, read_one

    with store.reading() as connection:
        if not name:
            known = names_in(connection, "project")
            if len(known) != 1:
                names = ", ".join(known[:8])
                raise LogbookError(
                    "it is not clear which release is meant" if known else "no release is logged",
                    f"name one of {names}" if known else "add one: logbook project add TITLE",
                )
            name = known[0]
        row = read_one(connection, "project", find(connection, "project", name).id)
        assert row is not None
        project: Project = row.record
        titles = dict.fromkeys(track.song for track in project.tracks)
        ids = [each.id for title in titles if (each := exactly(connection, "song", title))]
        log = read_log(connection, ids)
    return log, project
