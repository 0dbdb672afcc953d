"""`logbook listen tempo`, `pattern`, `chart`, `against`: what is played, heard from the audio."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.options import JsonOption

TEMPO = ("logbook listen tempo sketch.wav", "logbook listen tempo waltz.wav --meter 3/4 --bars")


def tempo(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="What was played.", show_default=False)
    ],
    about: Annotated[
        float | None,
        typer.Option("--about", metavar="BPM", help="The tempo that is about meant."),
    ] = None,
    meter: Annotated[
        str, typer.Option("--meter", metavar="METER", help="The meter, as in 3/4.")
    ] = "",
    bars: Annotated[bool, typer.Option("--bars", help="Print where each bar begins.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Lay a tempo map through what was played free; steady playing is told as one tempo."""
    from logbook.cli.listen_tempo import tell_tempo
    from logbook.listening.extra import require

    require()
    tell_tempo(file, about_bpm=about, meter=meter, bars=bars, as_json=as_json)


TEMPO_HELP = examples(*TEMPO)
