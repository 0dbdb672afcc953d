"""`logbook credits SONG|PROJECT`: who gets named, from what the log knows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.printing import remark
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.crediting.credits import Credits
    from logbook.records import Log
    from logbook.sheets.looks import Sheet

app = new_app(
    "Say who wrote, played and recorded a song or a whole release: by role, by person, as a line "
    "for a sleeve, as CSV or JSON. What is missing is listed.",
    examples=(
        "logbook credits 'Low Water'",
        "logbook credits 'Low Water' --by sleeve",
        "logbook credits 'Slack Water' --as csv --out credits.csv",
    ),
    single=True,
)


@app.command()
@handed_out("a list of credits", *TABLE_SHEET)
def credits(
    name: Annotated[
        str, typer.Argument(metavar="[SONG|PROJECT]", help="A song's or a project's title.")
    ] = "",
    by: Annotated[
        str, typer.Option("--by", metavar="role|person|sleeve", help="One of these only.")
    ] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="One version of the song only.")
    ] = "",
    project: Annotated[
        bool, typer.Option("--project", help="A project is meant, not the song of that title.")
    ] = False,
) -> Sheet:
    """Say who gets named."""
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.label_copy import WAYS, AskedCredits

    if by not in ("", *WAYS):
        raise LogbookError(f"credits are not sorted by {by}", f"use {', '.join(WAYS)}")
    with opened() as store, store.reading() as connection:
        many = find_credits(connection, name, version, project=project)
    return make_sheet("label copy", AskedCredits(many, by))


def find_credits(
    connection: Connection, name: str, version: str = "", *, project: bool = False
) -> tuple[Credits, ...]:
    """Return the credits of the song or project that `name` means; empty is where `here` is.

    Raises LogbookError with the closest names where nothing or too much is meant.
    """
    from logbook.crediting.credits import credits_of_project, credits_of_song
    from logbook.store.errors import NotFoundError
    from logbook.store.finding import choose, exactly, names_in
    from logbook.store.here import read_here
    from logbook.store.reading import read_rows

    songs, projects = names_in(connection, "song"), names_in(connection, "project")
    if not name:
        here = read_here(connection)
        if not here.song:
            raise LogbookError("no song or project is named, and none is current", "name one")
        name, version = here.song, version or here.version
    known = projects if project else list(dict.fromkeys([*songs, *projects]))
    title = choose(name, known, "project" if project else "song or project")
    if title in songs and not project:
        if title in projects:
            remark(f"{title} is a project too; --project prints its credits")
        found = exactly(connection, "song", title)
        assert found is not None, "a title that was listed is there"
        many = credits_of_song(_log(connection, [found.id]), title)
        if version:
            chosen = choose(version, [each.version for each in many], "version")
            many = tuple(each for each in many if each.version == chosen)
        return many
    if version:
        raise LogbookError(f"{title} is a project", "leave --version out; its tracks say which")
    if (found := exactly(connection, "project", title)) is None:
        raise NotFoundError(f"there is no project called {title!r}", "")
    (row,) = read_rows(connection, "project", [found.id])
    named = (exactly(connection, "song", track.song) for track in row.record.tracks)
    ids = sorted({each.id for each in named if each is not None})
    return credits_of_project(_log(connection, ids), title)


def _log(connection: Connection, song_ids: list[int]) -> Log:
    """Read these songs with every session, for days of mixing name no song."""
    from dataclasses import replace

    from logbook.store.reading import read_log, read_rows

    sessions = tuple(row.record for row in read_rows(connection, "session"))
    return replace(read_log(connection, song_ids), sessions=sessions)
