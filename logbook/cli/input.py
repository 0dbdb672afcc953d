"""`logbook input`: the input list of a session, printed, and carried to the next day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import completing
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import changing, opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.records import Session
    from logbook.sheets.looks import Sheet

app = noun_app("input", default="list", without=("list",))

SessionOption = Annotated[
    str,
    typer.Option(
        "--session",
        metavar="NAME",
        help="The session, if not the current one.",
        autocompletion=completing("session"),
    ),
]


def session_meant(connection: Connection, name: str) -> Session:
    """Return the session of this name, else the current one, else the only one.

    Raises LogbookError where it is not clear which is meant.
    """
    from logbook.store.finding import find, names_in
    from logbook.store.here import read_here
    from logbook.store.reading import read_one

    name = name or read_here(connection).session
    if not name:
        known = names_in(connection, "session")
        if len(known) != 1:
            raise LogbookError(
                "it is not clear which session is meant", "name it with --session, or logbook here"
            )
        name = known[0]
    row = read_one(connection, "session", find(connection, "session", name).id)
    assert row is not None
    session: Session = row.record
    return session


@app.command(
    "list",
    epilog=examples(
        'logbook input --session "day one"',
        'logbook input list --session "day one" --out inputs.pdf',
    ),
)
@handed_out("an input list", *TABLE_SHEET)
def list_inputs(
    session: SessionOption = "",
) -> Sheet:
    """Print the input list of a session."""
    from logbook.sheets.catalog import make_sheet

    with opened() as store, store.reading() as connection:
        found = session_meant(connection, session)
    return make_sheet("input list", found)


@app.command(
    "carry",
    epilog=examples(
        'logbook input carry "day two"', 'logbook input carry "day three" --from "day one"'
    ),
)
def carry(
    to: Annotated[
        str,
        typer.Argument(
            metavar="SESSION", help="The session that takes it over, if not the current one."
        ),
    ] = "",
    source: Annotated[
        str,
        typer.Option(
            "--from", metavar="NAME", help="From this session, if not the one before with inputs."
        ),
    ] = "",
    as_json: JsonOption = False,
) -> None:
    """Carry the input list over to the next day; what stands there already stays."""
    from logbook.records.input_lists import carried, input_row
    from logbook.store.editing import edit
    from logbook.store.finding import find
    from logbook.store.reading import read_rows

    with changing() as (_, change):
        target = session_meant(change.connection, to)
        sessions = [row.record for row in read_rows(change.connection, "session")]
        before = session_meant(change.connection, source) if source else _before(target, sessions)
        if before.name == target.name:
            raise LogbookError(
                f"{target.name} is the same session", "name the one it comes from with --from"
            )
        whole, new = carried(before.inputs, target.inputs)
        if new:
            edit(change, find(change.connection, "session", target.name), {"inputs": whole})
    kept = len(before.inputs) - len(new)
    if as_json:
        data = {"from": before.name, "to": target.name, "kept": kept}
        print_json(data | {"carried": [input_row(each) for each in new]})
        return
    count = f"{len(new)} input{'' if len(new) == 1 else 's'}"
    stays = f"; {target.name} has its own for the other {kept}" if kept else ""
    say(f"carried {count} from {before.name} to {target.name}{stays}")


def _before(target: Session, sessions: list[Session]) -> Session:
    """Return the last session before this one that has an input list."""
    at = next(at for at, each in enumerate(sessions) if each.name == target.name)
    earlier = [
        (each.date, number, each)
        for number, each in enumerate(sessions)
        if each.inputs
        and number != at
        and ((each.date, number) < (target.date, at) if target.date else number < at)
    ]
    if not earlier:
        raise LogbookError(
            f"no session before {target.name} has an input list",
            "name the one it comes from with --from",
        )
    return max(earlier, key=lambda found: found[:2])[2]
