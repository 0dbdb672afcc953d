"""`logbook takes`: the take list, as a session assistant would write it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.options import SongArgument, VersionOption

if TYPE_CHECKING:
    from logbook.records.part_view import PartView
    from logbook.sheets.looks import Sheet

app = new_app(
    "Print the take list of a song or a part: numbers, results, bars, lengths, punch-ins, what "
    "each take is used for in the comp. A keeper is marked with >.",
    examples=(
        'logbook takes "Low Water"',
        'logbook takes "Low Water" guitar',
        'logbook takes "Low Water" guitar --beside 2 --beside 5',
    ),
    single=True,
)


@app.command()
@handed_out("a take list", *TABLE_SHEET)
def takes(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="One part only.")] = "",
    version: VersionOption = "",
    beside: Annotated[
        list[str] | None,
        typer.Option(
            "--beside", "-b", metavar="TAKE", help="Set two takes side by side; give it twice."
        ),
    ] = None,
) -> Sheet:
    """Print the take list."""
    from logbook.cli.song_log import read_song
    from logbook.records.part_view import PartView
    from logbook.sheets.catalog import make_sheet

    with opened() as store:
        found = read_song(store, song, version, part)
    places = tuple(
        PartView(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    )
    return _two_takes(places, beside) if beside else make_sheet("takes", places)


def _two_takes(places: tuple[PartView, ...], beside: list[str]) -> Sheet:
    """Return two takes set side by side. Raises LogbookError where it is not clear which."""
    from logbook.editing.takes import parse_take_id
    from logbook.errors import LogbookError
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.two_takes import AskedTakes

    if len(beside) != 2:
        raise LogbookError(
            f"{len(beside)} take is to be set beside another"
            if len(beside) == 1
            else f"{len(beside)} takes are to be set side by side",
            "give --beside twice, as in --beside 2 --beside 5",
        )
    if len(places) != 1:
        raise LogbookError(
            "takes can only be set side by side within one part",
            f"name one of {', '.join(place.part.name for place in places)}",
        )
    wanted = AskedTakes(places[0], parse_take_id(beside[0]), parse_take_id(beside[1]))
    return make_sheet("two takes", wanted)
