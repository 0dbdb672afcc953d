"""Options and arguments that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.log import opened
from logbook.errors import LogbookError


def complete_song(incomplete: str) -> list[str]:
    """Return the titles that begin so, for the shell to complete."""
    from logbook.store.finding import names_in

    try:
        with opened(create=False) as store, store.reading() as connection:
            titles = names_in(connection, "song")
    except LogbookError:
        return []
    return [title for title in titles if title.startswith(incomplete)]


SongArgument = Annotated[
    str,
    typer.Argument(
        metavar="[SONG]",
        help="A song, by the beginning of its title.",
        autocompletion=complete_song,
    ),
]

VersionOption = Annotated[
    str, typer.Option("--version", "-v", metavar="NAME", help="Which version of the song.")
]

PartOption = Annotated[
    str, typer.Option("--part", "-p", metavar="NAME", help="Which part of the version.")
]

SpellingOption = Annotated[
    str,
    typer.Option(
        "--spelling",
        metavar="NAME",
        help="How notes are named: letters, german (H is B, B is Bb) or solfege (Do Re Mi).",
    ),
]

JsonOption = Annotated[bool, typer.Option("--json", help="Print the same as data.")]

YesOption = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")]
