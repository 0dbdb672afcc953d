"""`logbook check`: what contradicts what in the log, with where, why and what would mend it.

Exit code 1 where anything does. What the log has merely not said yet is listed apart, and does
not count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, SongArgument
from logbook.cli.printing import print_json, say, width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logbook.checking import Problem

app = new_app(
    "Say what contradicts what in the log: names, frets, keys, form, comps, doubling, files, "
    "shares, input lists and hours. Exit code 1 where anything does.",
    examples=("logbook check", 'logbook check "Low Water"', "logbook check --json"),
    single=True,
)


@app.command()
def check(song: SongArgument = "", as_json: JsonOption = False) -> None:
    """Say what contradicts what."""
    from logbook.checking import CONTRADICTS, check_song

    with opened() as store:
        if song:
            from logbook.cli.song_log import read_song

            one = read_song(store, song)
            problems = check_song(one.log, one.song)
            checked = one.song.title
        else:
            from logbook.cli.looking import look_at_sessions, look_at_songs

            found_in = look_at_songs(store)
            problems = tuple(problem for found in found_in for problem in found)
            problems += look_at_sessions(store)
            checked = f"{len(found_in)} song{'' if len(found_in) == 1 else 's'}"
    contradictions = [problem for problem in problems if problem.kind == CONTRADICTS]
    missing = [problem for problem in problems if problem.kind != CONTRADICTS]
    if as_json:
        print_json([problem._asdict() for problem in problems])
    else:
        _print(contradictions, missing, checked)
    if contradictions:
        raise typer.Exit(1)


def _print(contradictions: Sequence[Problem], missing: Sequence[Problem], checked: str) -> None:
    for number, problem in enumerate(contradictions, 1):
        say("\n".join(_lines(problem, f"{number}. ")))
        say()
    if missing:
        say("Not logged yet:")
        for problem in missing:
            say("\n".join(_lines(problem, "- ")))
        say()
    count = len(contradictions)
    if count:
        say(f"{checked}: {count} contradiction{'' if count == 1 else 's'}.")
    else:
        say(f"{checked}: nothing contradicts anything.")


def _lines(problem: Problem, lead: str) -> list[str]:
    from textwrap import wrap

    indent = " " * len(lead)
    lines = wrap(f"{lead}{problem.where}", width(), subsequent_indent=indent)
    for word, text in (("", problem.what), ("why: ", problem.why), ("mend: ", problem.mend)):
        if text:
            lines += wrap(
                word + text, width(), initial_indent=indent, subsequent_indent=f"{indent}  "
            )
    return lines
