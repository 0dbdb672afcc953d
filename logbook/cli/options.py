"""Options and arguments that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.completing import complete_part, complete_song, complete_version

SongArgument = Annotated[
    str,
    typer.Argument(
        metavar="[SONG]",
        help="A song, by the beginning of its title.",
        autocompletion=complete_song,
    ),
]

VersionOption = Annotated[
    str,
    typer.Option(
        "--version",
        "-v",
        metavar="NAME",
        help="Which version of the song.",
        autocompletion=complete_version,
    ),
]

PartOption = Annotated[
    str,
    typer.Option(
        "--part",
        "-p",
        metavar="NAME",
        help="Which part of the version.",
        autocompletion=complete_part,
    ),
]

SpellingOption = Annotated[
    str,
    typer.Option(
        "--spelling",
        metavar="NAME",
        help="How notes are named: letters, german (H is B, B is Bb) or solfege (Do Re Mi).",
    ),
]

JsonOption = Annotated[bool, typer.Option("--json", help="Print it as JSON.")]

YesOption = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")]
