"""`logbook takes`: the take list, as a session assistant would write it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.forms import OpenOption, OutOption, PaperOption, form_of, form_option, hand_out
from logbook.cli.handing import TABLE_SHEET
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.playing import AudioOption, check_audio, plays_beside
from logbook.errors import LogbookError

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
        'logbook takes "Low Water" --audio --out takes.html',
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
    form: Annotated[str, form_option(*TABLE_SHEET)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
    audio: AudioOption = False,
) -> None:
    """Print the take list."""
    chosen = form_of("a take list", TABLE_SHEET, form, out, as_json=as_json)
    if audio:
        check_audio(chosen, out)
        if beside:
            raise LogbookError("two takes side by side do not play", "leave --beside out")
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
    made = _two_takes(places, beside) if beside else make_sheet("takes", places)
    plays = ""
    if audio and out is not None:
        plays = plays_beside(found.log, found.song.title, "takes", out)
    hand_out(made, chosen, out, open_it=open_it, paper=paper, plays=plays)


def _two_takes(places: tuple[PartView, ...], beside: list[str]) -> Sheet:
    """Return two takes set side by side. Raises LogbookError where it is not clear which."""
    from logbook.editing.takes import parse_take_id
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
