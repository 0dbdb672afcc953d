"""`logbook vote`: what people thought of the takes, and the comp sheet with lines down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import SongArgument, VersionOption
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.cli.song_log import SongLog
    from logbook.records.part_view import PartView
    from logbook.sheets.looks import Sheet

app = noun_app("vote", default="sheet")


def part_voted_on(found: SongLog, part: str) -> PartView:
    """Return the part that is meant; without a name the one that has votes, or the only one.

    Raises LogbookError where that is not clear.
    """
    from logbook.records.part_view import PartView

    places = [
        PartView(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    ]
    voted = [place for place in places if place.part.votes]
    if not part and voted:
        places = voted
    if len(places) == 1:
        return places[0]
    if not places:
        raise LogbookError(f"{found.song.title} has no part yet", "add one with `logbook part add`")
    raise LogbookError(
        f"it is not clear which part of {found.song.title} is meant",
        f"name one of {', '.join(dict.fromkeys(place.part.name for place in places))}"
        + (" and its --version" if len({place.version.name for place in places}) > 1 else ""),
    )


@app.command(
    "sheet",
    epilog=examples('logbook vote "Low Water" voice', "logbook vote sheet low --out c.pdf"),
)
@handed_out("a comp sheet", *TABLE_SHEET)
def sheet(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="Which part.")] = "",
    version: VersionOption = "",
) -> Sheet:
    """Print the comp sheet of a part: lines down, takes across, and what the comp has there."""
    from logbook.cli.song_log import read_song
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.voted_comps import AskedVotes

    with opened() as store:
        place = part_voted_on(read_song(store, song, version, part), part)
    return make_sheet("votes", AskedVotes(place))
