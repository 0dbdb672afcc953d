"""`logbook recall`: how everything stood for a part or a session, with its photographs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import completing
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import SongArgument, VersionOption
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Session
    from logbook.sheets.looks import Sheet
    from logbook.sheets.recalls import AskedRecall, Recalled
    from logbook.store.store import Store

app = noun_app("recall", default="sheet")


@app.command(
    "sheet",
    epilog=examples(
        'logbook recall "Low Water" guitar',
        'logbook recall --session "day one" --out recall.html',
    ),
)
@handed_out("a recall", *TABLE_SHEET)
def sheet(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="One part only.")] = "",
    version: VersionOption = "",
    session: Annotated[
        str,
        typer.Option(
            "--session",
            metavar="NAME",
            help="Of a session instead.",
            autocompletion=completing("session"),
        ),
    ] = "",
) -> Sheet:
    """Print how everything stood, and show the photographs (in HTML and PDF)."""
    from logbook.sheets.catalog import make_sheet

    if session and (song or part or version):
        raise LogbookError("--session and a song were both given", "leave one of them out")
    with opened() as store:
        asked = _of_session(store, session) if session else _of_song(store, song, version, part)
    return make_sheet("recall", asked)


def _of_session(store: Store, name: str) -> AskedRecall:
    from logbook.cli.input import session_meant
    from logbook.sheets.recalls import AskedRecall

    with store.reading() as connection:
        found = session_meant(connection, name)
    return AskedRecall(found.name, (_session(found),))


def _of_song(store: Store, song: str, version: str, part: str) -> AskedRecall:
    """Return the recall of a song's parts, and of the sessions their takes are from."""
    from logbook.cli.song_log import read_song
    from logbook.importing.photographs import see
    from logbook.sheets.recalls import AskedRecall, Recalled

    found = read_song(store, song, version, part)
    groups = []
    names = set()
    for each in found.versions():
        for one in found.parts(each):
            names |= {take.session for take in one.takes}
            heading = f"{found.song.title}, {each.name}, {one.name}"
            seen = tuple(map(see, one.photographs))
            groups.append(Recalled(heading, one.chain, one.recall, seen))
    groups += [_session(each) for each in found.log.sessions if each.name in names]
    return AskedRecall(", ".join(filter(None, (found.song.title, found.part))), tuple(groups))


def _session(session: Session) -> Recalled:
    from logbook.importing.photographs import see
    from logbook.sheets.recalls import Recalled

    aside = ", ".join(filter(None, (session.date, session.place)))
    return Recalled(session.name, aside, session.recall, tuple(map(see, session.photographs)))
