"""Options of nouns' commands that are no fields: begun like what, and what a moved capo keeps."""

from __future__ import annotations

import inspect
from typing import Annotated

import typer

from logbook.notebook.declare import Noun


def like_parameters(noun: Noun) -> list[inspect.Parameter]:
    """What a new song or part may be begun like."""
    helps = {
        "song": "Begin with the instruments, tunings, capos, counting and people of this song.",
        "part": "Begin with the voicings and chart of this part.",
    }
    if noun.word not in helps:
        return []
    keyword = inspect.Parameter.KEYWORD_ONLY
    like = Annotated[
        str, typer.Option("--like", metavar="NAME", help=helps[noun.word], show_default=False)
    ]
    found = [inspect.Parameter("like", keyword, default="", annotation=like)]
    if noun.word == "part":
        only = Annotated[
            list[str] | None,
            typer.Option(
                "--only",
                metavar="SECTION",
                help="With --like: play in this section alone; give it again for each.",
                show_default=False,
            ),
        ]
        found.append(inspect.Parameter("only", keyword, default=None, annotation=only))
    return found


KEEP = inspect.Parameter(
    "keep",
    inspect.Parameter.KEYWORD_ONLY,
    default="",
    annotation=Annotated[
        str,
        typer.Option(
            "--keep",
            metavar="shapes|sound",
            help="With --capo: rewrite the fret lines, so that shapes or sound stay.",
            show_default=False,
        ),
    ],
)
