"""`logbook credits SONG|PROJECT`: who gets named, from what the log knows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.answering import answer, answer_csv, answer_json
from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption
from logbook.cli.printing import remark, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.crediting.credits import Credits
    from logbook.records import Log

WAYS = ("role", "person", "sleeve")
FORMS = ("text", "csv", "json")

app = new_app(
    "Say who wrote, played and recorded a song or a whole release: by role, by person, as a line "
    "for a sleeve, as CSV or JSON. What is missing is listed.",
    examples=(
        "logbook credits 'Low Water'",
        "logbook credits 'Low Water' --by sleeve",
        "logbook credits 'Slack Water' --as csv --out credits.csv",
    ),
    single=True,
)


@app.command()
def credits(
    name: Annotated[
        str, typer.Argument(metavar="[SONG|PROJECT]", help="A song's or a project's title.")
    ] = "",
    by: Annotated[
        str, typer.Option("--by", metavar="role|person|sleeve", help="One of these only.")
    ] = "",
    form: Annotated[
        str, typer.Option("--as", metavar="text|csv|json", help="In which form.")
    ] = "text",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="One version of the song only.")
    ] = "",
    project: Annotated[
        bool, typer.Option("--project", help="A project is meant, not the song of that title.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write it to a file.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say who gets named."""
    from logbook.crediting.wording import as_dict, csv_rows

    form = "json" if as_json else form
    if form not in FORMS:
        raise LogbookError(f"credits cannot be written as {form}", f"use {', '.join(FORMS)}")
    if by not in ("", *WAYS):
        raise LogbookError(f"credits are not sorted by {by}", f"use {', '.join(WAYS)}")
    with opened() as store, store.reading() as connection:
        many = find_credits(connection, name, version, project=project)
    if form == "csv":
        answer_csv(csv_rows(many), out)
    elif form == "json":
        answer_json([as_dict(each) for each in many], out)
    else:
        answer("\n".join(credit_lines(many, by, width())), out)


def find_credits(
    connection: Connection, name: str, version: str = "", *, project: bool = False
) -> tuple[Credits, ...]:
    """Return the credits of the song or project that `name` means; empty is where `here` is.

    Raises LogbookError with the closest names where nothing or too much is meant.
    """
    from logbook.crediting.credits import credits_of_project, credits_of_song
    from logbook.store.errors import NotFoundError
    from logbook.store.finding import choose, exactly, names_in
    from logbook.store.here import read_here
    from logbook.store.reading import read_rows

    songs, projects = names_in(connection, "song"), names_in(connection, "project")
    if not name:
        here = read_here(connection)
        if not here.song:
            raise LogbookError("no song or project is named, and none is current", "name one")
        name, version = here.song, version or here.version
    known = projects if project else list(dict.fromkeys([*songs, *projects]))
    title = choose(name, known, "project" if project else "song or project")
    if title in songs and not project:
        if title in projects:
            remark(f"{title} is a project too; --project prints its credits")
        found = exactly(connection, "song", title)
        assert found is not None, "a title that was listed is there"
        many = credits_of_song(_log(connection, [found.id]), title)
        if version:
            chosen = choose(version, [each.version for each in many], "version")
            many = tuple(each for each in many if each.version == chosen)
        return many
    if version:
        raise LogbookError(f"{title} is a project", "leave --version out; its tracks say which")
    if (found := exactly(connection, "project", title)) is None:
        raise NotFoundError(f"there is no project called {title!r}", "")
    (row,) = read_rows(connection, "project", [found.id])
    named = (exactly(connection, "song", track.song) for track in row.record.tracks)
    ids = sorted({each.id for each in named if each is not None})
    return credits_of_project(_log(connection, ids), title)


def _log(connection: Connection, song_ids: list[int]) -> Log:
    """Read these songs with every session, for days of mixing name no song."""
    from dataclasses import replace

    from logbook.store.reading import read_log, read_rows

    sessions = tuple(row.record for row in read_rows(connection, "session"))
    return replace(read_log(connection, song_ids), sessions=sessions)


def credit_lines(many: Iterable[Credits], by: str, columns: int) -> Iterator[str]:
    """Yield credits as lines of at most `columns`; `by` names one way, empty gives them all."""
    from logbook.crediting.credits import STANDING
    from logbook.crediting.wording import apart_lines, missing_lines, share_lines

    many = tuple(many)
    for each in many:
        names = [each.song, each.version, each.release, each.date]
        yield from wrap(", ".join(name for name in names if name), columns)
        yield ""
        yield from _ways(each, by, columns)
        for heading, lines in (
            ("Numbers", [_numbered(one) for one in each.identifiers]),
            ("Shares", share_lines(each)),
            ("Listed apart", apart_lines(each)),
            ("Missing", missing_lines(each)),
        ):
            if lines:
                yield from _block(heading, lines, columns)
    if not many:
        yield "No track is on it yet."
        yield ""
    yield from wrap(STANDING, columns)


def _ways(credits: Credits, by: str, columns: int) -> Iterator[str]:
    from logbook.crediting.identified import person_identifiers
    from logbook.crediting.names import credited_name
    from logbook.crediting.wording import by_person, by_role, sleeve_line

    if by in ("", "role"):
        roles = [f"{role}: {', '.join(names)}" for role, names in by_role(credits)]
        yield from _block("By role", roles or ["nobody is named yet"], columns)
    if by in ("", "person"):
        people = []
        for person, did in by_person(credits):
            numbers = [one.printed for one in person_identifiers(person)]
            shown = f" ({', '.join(numbers)})" if numbers else ""
            people.append(f"{credited_name(person)}: {'; '.join(did)}{shown}")
        yield from _block("By person", people or ["nobody is named yet"], columns)
    if by in ("", "sleeve"):
        line = sleeve_line(credits) or "nobody is named yet"
        yield from _block("For the sleeve", [line], columns)


def _numbered(identifier: Any) -> str:
    problem = f" ({identifier.problem})" if identifier.problem else ""
    return f"{identifier.printed}{problem}"


def _block(heading: str, lines: Sequence[str], columns: int) -> Iterator[str]:
    yield heading
    for line in lines:
        yield from wrap(line, columns, initial_indent="  ", subsequent_indent="    ")
    yield ""
