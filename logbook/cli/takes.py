"""`logbook takes`: the take list, as a session assistant would write it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.printing import print_json, print_table, say, width

if TYPE_CHECKING:
    from logbook.records.context import Place
    from logbook.sheets.takes import PartTakes

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
    as_json: JsonOption = False,
) -> None:
    """Print the take list."""
    from textwrap import wrap

    from logbook.cli.song_log import read_song
    from logbook.errors import LogbookError
    from logbook.records.context import Place
    from logbook.sheets.takes import part_takes

    with opened() as store:
        found = read_song(store, song, version, part)
    places = [
        Place(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    ]
    if beside:
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
        _compare(places[0], beside, as_json=as_json)
        return
    lists = [part_takes(place) for place in places]
    if as_json:
        print_json([_as_data(each) for each in lists])
        return
    for index, each in enumerate(lists):
        if index:
            say()
        say(f"{each.song}, {each.version}, {each.part}")
        if not each.takes:
            say("  no takes yet")
            continue
        _print_rows(each.rows)
        for take in each.takes:
            for file, measured in zip(take.files, take.measured, strict=False):
                said = f"  take {take.number}, {file}: {measured}"
                say("\n".join(wrap(said, width(), subsequent_indent="    ")))


def _print_rows(rows: tuple[tuple[str, ...], ...]) -> None:
    """Print the rows without the columns that nothing stands in."""
    heading, *body = rows
    kept = [
        index
        for index in range(len(heading))
        if index in (1, len(heading) - 1) or any(row[index] for row in body)
    ]
    print_table([heading[index] for index in kept], [[row[i] for i in kept] for row in body])


def _compare(place: Place, beside: list[str], *, as_json: bool) -> None:
    from logbook.editing.takes import parse_take_id
    from logbook.sheets.takes import compared

    rows = compared(place, parse_take_id(beside[0]), parse_take_id(beside[1]))
    if as_json:
        heading, *body = rows
        print_json(
            [
                {"what": row[0], heading[1]: row[1], heading[2]: row[2], "difference": row[3]}
                for row in body
            ]
        )
        return
    say(place.title)
    print_table(rows[0], rows[1:])


def _as_data(takes: PartTakes) -> dict[str, object]:
    from dataclasses import asdict

    data = asdict(takes)
    del data["rows"]
    return data
