"""`logbook sheet`: what a player needs of a song, printed or written in another form.

The form is `--as`, else what the ending of `--out` says, else text. Text goes to the terminal as
wide as it is; piped or in a file it is plain, and 80 columns unless COLUMNS says otherwise.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.forms import (
    EVERY_SHEET,
    BigOption,
    Goal,
    LeftHandedOption,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
)
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, PartOption, SongArgument, VersionOption
from logbook.cli.playing import AudioOption, check_audio, plays_beside
from logbook.cli.song_log import SongLog, read_song
from logbook.errors import LogbookError
from logbook.sheets.catalog import SHEETS, make_sheet
from logbook.sheets.looks import Sheet, Wanted

app = new_app(
    "Print how a song was played and edited (player), how to learn it (lesson), how it is played "
    "on stage (live), who gets named (credits), or the chart alone, a page a part (chart).",
    examples=(
        'logbook sheet "low tide"',
        "logbook sheet low --for lesson --part guitar --out lesson.html",
        "logbook sheet low --audio --out low.html",
        "logbook sheet low --for chart --part guitar --out chart.pdf",
        'logbook sheet low --for live --arrangement "harbour stage" --as pdf --open',
    ),
    single=True,
)

FORMS = (*EVERY_SHEET, "svg")


@app.command()
def sheet(
    song: SongArgument = "",
    version: VersionOption = "",
    part: PartOption = "",
    kind: Annotated[
        str, typer.Option("--for", metavar="|".join(SHEETS), help="Who the sheet is for.")
    ] = "player",
    form: Annotated[str, form_option(*FORMS)] = "",
    as_json: JsonOption = False,
    out: OutOption = None,
    open_it: OpenOption = False,
    left_handed: LeftHandedOption = False,
    paper: PaperOption = "A4",
    big: BigOption = "sounds",
    checks: Annotated[
        bool, typer.Option("--checks", help="Add what the checks found to a player's sheet.")
    ] = False,
    audio: AudioOption = False,
    arrangement: Annotated[
        str,
        typer.Option(
            "--arrangement", metavar="NAME", help="Which kept arrangement the live sheet is for."
        ),
    ] = "",
) -> None:
    """Print what a player, a student, a band or a label needs of a song."""
    with _unswept():
        chosen = form_of("a sheet", FORMS, form, out, as_json=as_json)
        if audio:
            check_audio(chosen, out)
            if kind == "credits":
                raise LogbookError(
                    "a credits sheet does not play", "recordings go with every other sheet"
                )
        with opened() as store:
            found = read_song(store, song, version, part)
        made = song_sheet(found, kind, arrangement, checks=checks)
        goal = Goal(chosen, out, open_it, paper, left_handed, big)
        if audio and out is not None:
            wanted = Wanted(found.song.title, found.version, found.part, arrangement)
            plays = plays_beside(found.log, found.song.title, kind, out, wanted)
            goal = goal._replace(plays=plays)
        goal.hand_out(made)


@contextmanager
def _unswept() -> Iterator[None]:
    """Look for no garbage in cycles meanwhile: with so many imports that costs more than a sheet.

    (A tenth of the whole command, by tests/benchmarks/bench_start.py.)
    """
    sweeping = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if sweeping:
            gc.enable()


def song_sheet(
    found: SongLog, kind: str = "player", arrangement: str = "", *, checks: bool = False
) -> Sheet:
    """Work a sheet of a song out. Raises LogbookError for a kind there is not."""
    if arrangement and kind != "live":
        raise LogbookError(f"an arrangement is for the live sheet, not the {kind} sheet",
                           "add --for live")  # fmt: skip
    wanted = Wanted(
        found.song.title, found.version, found.part, arrangement, "yes" if checks else ""
    )
    return make_sheet(kind, found.log, wanted)
