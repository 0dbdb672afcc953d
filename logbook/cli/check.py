"""`logbook check`: what contradicts what in the log, with where, why and what would mend it.

Exit code 1 where anything does. What the log has merely not said yet is listed apart, and does
not count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, SongArgument
from logbook.cli.printing import print_json, say, width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logbook.checking import Problem
    from logbook.cli.song_log import SongLog
    from logbook.records import Session

app = new_app(
    "Find contradictions in the log: names, frets, keys, form, comps, doubling, files, "
    "shares, input lists and hours. Exit code 1 where anything does.",
    examples=(
        "logbook check",
        'logbook check "Low Water"',
        "logbook check --rule 'file length' --about drums",
        "logbook check --short",
        "logbook check --json",
    ),
    single=True,
)


_MANY = 24  # of one rule in one song
_FEW = 8
"""So many are listed one after the other; more are grouped by song and rule."""


@app.command()
def check(
    song: SongArgument = "",
    rule: Annotated[
        list[str] | None,
        typer.Option("--rule", metavar="NAME", help="Only this rule's; again for each."),
    ] = None,
    about: Annotated[
        str, typer.Option("--about", metavar="WORDS", help="Only where all these words stand.")
    ] = "",
    short: Annotated[
        bool, typer.Option("--short", help="Only how many, by song and rule.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Find contradictions."""
    from logbook.checking import CONTRADICTS, check_song

    with opened() as store:
        if song:
            from logbook.checking.sessions import check_sessions
            from logbook.cli.song_log import read_song

            one = read_song(store, song)
            problems = check_song(one.log, one.song) + check_sessions(_sessions_of(one))
            checked = one.song.title
            titles = [one.song.title]
        else:
            from logbook.cli.looking import look_at_sessions, look_at_songs
            from logbook.store.finding import names_in

            found_in = look_at_songs(store)
            with store.reading() as connection:
                titles = names_in(connection, "song")
            problems = tuple(problem for found in found_in for problem in found)
            problems += look_at_sessions(store)
            checked = f"{len(found_in)} song{'' if len(found_in) == 1 else 's'}"
    if rule or about:
        problems = _chosen(problems, rule or [], about)
    contradictions = [problem for problem in problems if problem.kind == CONTRADICTS]
    missing = [problem for problem in problems if problem.kind != CONTRADICTS]
    if as_json:
        print_json([problem._asdict() for problem in problems])
    else:
        whole = bool(rule or about)
        _print(contradictions, missing, checked, titles, short=short, whole=whole)
    if contradictions:
        raise typer.Exit(1)


def _sessions_of(found: SongLog) -> list[Session]:
    """The sessions that takes and overdubs of a song name; their papers are the song's too."""
    parts = [part for version in found.song.versions for part in version.parts]
    used = {take.session for part in parts for take in part.takes}
    used |= {overdub.session for part in parts for overdub in part.overdubs}
    return [session for session in found.log.sessions if session.name in used]


def _chosen(problems: Sequence[Problem], rules: Sequence[str], about: str) -> tuple[Problem, ...]:
    """Keep what is asked for. Raises LogbookError for a rule that found nothing."""
    from logbook.checking.grouping import chosen
    from logbook.names import pick

    known = sorted({problem.rule for problem in problems})
    if rules and not known:
        return ()
    return tuple(chosen(problems, [pick(each, known, "rule") for each in rules], about))


def _print(
    contradictions: Sequence[Problem],
    missing: Sequence[Problem],
    checked: str,
    titles: Sequence[str],
    *,
    short: bool,
    whole: bool,
) -> None:
    from logbook.checking.grouping import together

    listed = together(contradictions)
    if short or len(listed) > _FEW:
        _print_grouped(contradictions, titles, short=short, whole=whole)
    else:
        for number, problem in enumerate(listed, 1):
            say("\n".join(_lines(problem, f"{number}. ")))
            say()
    if missing and not short:
        say("Not logged yet:")
        for problem in together(missing):
            say("\n".join(_lines(problem, "- ")))
        say()
    count = len(contradictions)
    if count:
        say(f"{checked}: {count} contradiction{'' if count == 1 else 's'}.")
    else:
        say(f"{checked}: no contradictions found.")


def _print_grouped(
    problems: Sequence[Problem], titles: Sequence[str], *, short: bool, whole: bool
) -> None:
    """Say findings by song and rule; `whole` says every one of many of one rule."""
    from logbook.checking.grouping import by_song

    number = 0
    for song in by_song(problems, titles):
        say(f"{song.title or 'Of no song'}: {song.total}")
        for rule in song.rules:
            say(f"  {rule.rule}: {rule.total}")
            if short:
                continue
            said: set[str] = set()
            shown = rule.problems if whole or len(rule.problems) <= _MANY else rule.problems[:_FEW]
            for problem in shown:
                number += 1
                # Why, and what helps, is told once where it is the same of all.
                once = problem._replace(
                    why="" if problem.why in said else problem.why,
                    mend="" if problem.mend in said else problem.mend,
                )
                said |= {problem.why, problem.mend}
                for line in _lines(once, f"{number}. ", 4):
                    say(line)
            more = len(rule.problems) - len(shown)
            if more:
                number += more
                say(f"    and {more} more: logbook check --rule {rule.rule!r} shows them")
        say()


def _lines(problem: Problem, lead: str, inset: int = 0) -> list[str]:
    from textwrap import wrap

    indent = " " * (inset + len(lead))
    first = " " * inset + lead
    lines = wrap(problem.where, width(), initial_indent=first, subsequent_indent=indent)
    for word, text in (("", problem.what), ("reason: ", problem.why), ("fix: ", problem.mend)):
        if text:
            lines += wrap(
                word + text, width(), initial_indent=indent, subsequent_indent=f"{indent}  "
            )
    return lines
