"""`logbook photograph`: photographs of how things stood, and looking at their files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.apps import examples
from logbook.cli.log import changing
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, say

if TYPE_CHECKING:
    from logbook.records import Photograph
    from logbook.store.changing import Change

app = noun_app("photograph")

_SAID = {
    "taken in": "Taken in",
    "changed": "A different file from the one that was kept; --changed takes it as it is now",
    "lost": "No longer there",
}


@app.command(
    "read",
    epilog=examples("logbook photograph read", "logbook photograph read --changed"),
)
def read(
    changed: Annotated[
        bool, typer.Option("--changed", help="Take those that changed as they are now.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Look at all photographs: take in the new ones, and tell which are lost or changed.

    Exit code 1 where one is lost or changed.
    """
    told: dict[str, list[str]] = {state: [] for state in _SAID}
    total = 0
    with changing() as (_, change):
        for kind in ("session", "part"):
            total += _look_at_all(change, kind, told, accept=changed)
    if as_json:
        print_json({"total": total, **told})
    else:
        for state, heading in _SAID.items():
            if told[state]:
                say(f"{heading}:")
                for path in told[state]:
                    say(f"  {path}")
        if not any(told.values()):
            say(f"{total} photograph{'' if total == 1 else 's'}, all as they were kept.")
    if told["changed"] or told["lost"]:
        raise typer.Exit(1)


def _look_at_all(change: Change, kind: str, told: dict[str, list[str]], *, accept: bool) -> int:
    """Look at the photographs of all sessions or parts; return how many there are."""
    from logbook.store.editing import edit
    from logbook.store.finding import FoundRow
    from logbook.store.reading import owners_with, read_one

    count = 0
    for number in owners_with(change.connection, "photograph", kind):
        row = read_one(change.connection, kind, number)
        assert row is not None
        owner: Any = row.record
        kept = tuple(_looked_at(each, told, accept=accept) for each in owner.photographs)
        count += len(kept)
        if kept != owner.photographs:
            found = FoundRow(kind, number, owner.name, row.revision)
            edit(change, found, {"photographs": kept})
    return count


def _looked_at(photo: Photograph, told: dict[str, list[str]], *, accept: bool) -> Photograph:
    from logbook.importing.photographs import see, taken_in

    state = see(photo).state
    if state == "new" or (state == "changed" and accept):
        told["taken in"].append(photo.path)
        return taken_in(photo)
    if state in told:
        told[state].append(photo.path)
    return photo
