"""`logbook hours`: who worked when, and the day sheet with its total."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import completing
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app

if TYPE_CHECKING:
    from logbook.sheets.looks import Sheet

app = noun_app("hours", default="list", without=("list",))


@app.command(
    "list",
    epilog=examples(
        'logbook hours --session "day one"',
        'logbook hours list --person "Ada Fenrush" --out hours.csv',
    ),
)
@handed_out("a day sheet", *TABLE_SHEET)
def list_hours(
    session: Annotated[
        str,
        typer.Option(
            "--session",
            metavar="NAME",
            help="One session; without it, all of them.",
            autocompletion=completing("session"),
        ),
    ] = "",
    person: Annotated[str, typer.Option("--person", metavar="NAME", help="One person only.")] = "",
) -> Sheet:
    """Print the day sheet: hours with breaks, and their total."""
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.day_sheets import AskedHours
    from logbook.store.finding import find
    from logbook.store.reading import read_rows

    with opened() as store, store.reading() as connection:
        who = find(connection, "person", person).name if person else ""
        ids = [find(connection, "session", session).id] if session else None
        sessions = tuple(row.record for row in read_rows(connection, "session", ids))
    return make_sheet("hours", AskedHours(sessions, who))
