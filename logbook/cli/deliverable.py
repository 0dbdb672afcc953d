"""`logbook deliverable`: what leaves the house, checked against the files that are there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.completing import completing
from logbook.cli.handing import TABLE_SHEET, handed_out
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Log, Song, Version
    from logbook.records.delivered import SeenFile
    from logbook.sheets.looks import Sheet
    from logbook.store.store import Store

app = noun_app("deliverable", default="list", without=("list",))


@app.command(
    "list",
    epilog=examples(
        'logbook deliverable --song "Low Water"',
        "logbook deliverable --project Boathouse --out deliverables.pdf",
    ),
)
@handed_out("a list of deliverables", *TABLE_SHEET)
def list_deliverables(
    song: Annotated[
        str,
        typer.Option(
            "--song",
            metavar="NAME",
            help="The song, if not the current one.",
            autocompletion=completing("song"),
        ),
    ] = "",
    version: Annotated[
        str, typer.Option("--version", metavar="NAME", help="One version of it only.")
    ] = "",
    project: Annotated[
        str,
        typer.Option(
            "--project",
            metavar="NAME",
            help="All that is on a release instead.",
            autocompletion=completing("project"),
        ),
    ] = "",
) -> Sheet:
    """Print what leaves the house, how far it has come, and what is missing."""
    from logbook.cli.song_log import read_song
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.deliverables import AskedDeliverables

    if project and (song or version):
        raise LogbookError("--project and a song were both given", "leave one of them out")
    with opened() as store:
        if project:
            log, title, versions = _on_release(store, project)
        else:
            found = read_song(store, song, version)
            log, title = found.log, found.song.title
            versions = tuple((found.song, each) for each in found.versions())
    asked = AskedDeliverables(title, versions, _seen(log, versions))
    return make_sheet("deliverables", asked)


def _on_release(store: Store, name: str) -> tuple[Log, str, tuple[tuple[Song, Version], ...]]:
    """Return the log of a release's songs, its title, and the versions on it in their order."""
    from logbook.cli.project import release_log

    log, project = release_log(store, name)
    songs = {each.title: each for each in log.songs}
    versions = tuple(
        (songs[track.song], each)
        for track in project.tracks
        for each in songs[track.song].versions
        if each.name == track.version
    )
    return log, project.title, versions


def _seen(log: Log, versions: tuple[tuple[Song, Version], ...]) -> dict[str, SeenFile]:
    """Look at each file: its header where it is there, else what the log has read of it."""
    from pathlib import Path

    from logbook.audio.errors import AudioError
    from logbook.audio.reading import read_audio
    from logbook.records.delivered import SeenFile, look_in_log

    seen: dict[str, SeenFile] = {}
    for _, version in versions:
        in_log = look_in_log(log, version)
        for path in (path for each in version.deliverables for path in each.files):
            place = Path(path)
            if place.is_dir():
                seen[path] = SeenFile("there")
            elif place.exists():
                try:
                    info = read_audio(place, digest=False)
                except AudioError as error:
                    seen[path] = SeenFile("unreadable", why=error.problem)
                else:
                    seen[path] = SeenFile("there", info.rate_hz, info.depth_bits)
            else:
                known = in_log(path)
                seen[path] = SeenFile("missing", known.rate_hz, known.depth_bits)
    return seen
