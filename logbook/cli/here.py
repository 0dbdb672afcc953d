"""`logbook here`: which session, song, version and part need not be typed again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.completing import (
    complete_part,
    complete_session,
    complete_song,
    complete_version,
)
from logbook.cli.log import opened, settings
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.finding import LogPlace
    from logbook.store.store import Store

app = new_app(
    "Show or set the current session, song, version and part. Commands that are not told "
    "another one use these.",
    examples=(
        'logbook here "Low Water" album guitar --session "day one"',
        "logbook here low",
        "logbook here",
    ),
    single=True,
)


@app.command()
def here(
    song: Annotated[
        str, typer.Argument(metavar="[SONG]", help="The song.", autocompletion=complete_song)
    ] = "",
    version: Annotated[
        str,
        typer.Argument(
            metavar="[VERSION]",
            help="The version; the only one if left out.",
            autocompletion=complete_version,
        ),
    ] = "",
    part: Annotated[
        str,
        typer.Argument(
            metavar="[PART]",
            help="The part; the only one if left out.",
            autocompletion=complete_part,
        ),
    ] = "",
    session: Annotated[
        str,
        typer.Option(
            "--session",
            "-s",
            metavar="NAME",
            help="The session.",
            autocompletion=complete_session,
        ),
    ] = "",
    at: Annotated[
        str,
        typer.Option(
            "--part",
            "-p",
            metavar="NAME",
            help="Another part of the same version.",
            autocompletion=complete_part,
        ),
    ] = "",
    forget: Annotated[bool, typer.Option("--forget", help="Forget what was set.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Say or set where the work is."""
    from logbook.store.finding import NOWHERE, find, find_owner
    from logbook.store.here import read_here, set_here

    part = part or at
    with opened() as store:
        if forget:
            set_here(store, session_id=None, version_id=None, part_id=None)
        elif song or part or session:
            if song and not version:
                _see_to_version(store, song)
            with store.reading() as connection:
                now = read_here(connection)
                wanted_session = session or now.session
                session_id = (
                    find(connection, "session", wanted_session).id if wanted_session else None
                )
                place = NOWHERE._replace(
                    song=song or now.song, version=version or ("" if song else now.version)
                )
                version_id = part_id = None
                if place.song:
                    title = find(connection, "song", place.song).name
                    found = find_owner(connection, "version", place._replace(song=title))
                    version_id = found.id
                    place = place._replace(song=title, version=found.name)
                    wanted = part or ("" if song else now.part)
                    part_id = _part(connection, place, wanted)
                elif part:
                    raise LogbookError("no song is current", "name the song too")
            set_here(store, session_id=session_id, version_id=version_id, part_id=part_id)
        with store.reading() as connection:
            now = read_here(connection)
    if as_json:
        print_json(now._asdict())
        return
    place_text = " / ".join(each for each in (now.song, now.version, now.part) if each)
    if not place_text and not now.session:
        say('no current song yet; set one as in: logbook here "Low Water" album guitar')
        return
    say(f"{place_text or 'no song'}" + (f", session {now.session}" if now.session else ""))


def _see_to_version(store: Store, song: str) -> None:
    """A new song can be worked on at once: it gets its first version now."""
    from logbook.cli.first_needed import first_version
    from logbook.store.finding import find, names_in

    with store.reading() as connection:
        found = find(connection, "song", song)
        if names_in(connection, "version", found.id):
            return
    with store.change(settings.command) as change:
        first_version(change, found.name)


def _part(connection: Connection, place: LogPlace, name: str) -> int | None:
    """The part that is named, or the only one; none where there are several."""
    from logbook.store.finding import find, find_owner, names_in

    if name:
        return find(connection, "part", name, place).id
    version = find_owner(connection, "version", place)
    only = names_in(connection, "part", version.id)
    return find(connection, "part", only[0], place).id if len(only) == 1 else None
