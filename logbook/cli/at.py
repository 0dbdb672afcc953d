"""`logbook at PLACE`: one bar of a part, months later."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, PartOption, VersionOption
from logbook.cli.printing import print_json, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.cli.song_log import SongLog
    from logbook.records import Version
    from logbook.records.part_view import PartView
    from logbook.store.store import Store

app = new_app(
    "Say in a few lines all that is known of a bar: what sounds there, on which frets, on what, "
    "which take and which bar of it, punched or not, doubled or not, notes, files and the time in "
    "them. Song and part are the current ones.",
    examples=("logbook at 17", "logbook at B.2", "logbook at B2.1 --song low --part guitar"),
    single=True,
)


@app.command()
def at(
    place: Annotated[
        str,
        typer.Argument(
            metavar="PLACE", help="A bar, or a bar of a section: 17, B.2 (B's second), B2.1."
        ),
    ],
    song: Annotated[str, typer.Option("--song", metavar="NAME", help="Another song.")] = "",
    part: PartOption = "",
    version: VersionOption = "",
    as_json: JsonOption = False,
) -> None:
    """Show everything known about one bar."""
    from textwrap import wrap

    from logbook.sheets.at_bar import bar_said

    with opened() as store:
        view = _view(store, song, version, part)
    bar, others = _bar(place, view.version)
    lines = bar_said(view, bar)
    if as_json:
        print_json({"place": view.title, "bar": bar, "said": [each._asdict() for each in lines]})
        return
    say(view.title)
    for about, text in lines:
        for line in wrap(text, width(), initial_indent=f"{about:9}", subsequent_indent=" " * 9):
            say(line)
    if others:
        say(f"also     {others}")


def _view(store: Store, song: str, version: str, part: str) -> PartView:
    """The part that is meant: the one that is named, the current one, or the only one."""
    from logbook.cli.song_log import read_song
    from logbook.records.part_view import PartView

    found: SongLog = read_song(store, song, version, part)
    views = [
        PartView(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    ]
    if not views:
        raise LogbookError(
            f"{found.song.title} has no part yet", "add one with `logbook part add guitar`"
        )
    if len(views) > 1:
        names = ", ".join(dict.fromkeys(view.part.name for view in views))
        versions = len({view.version.name for view in views}) > 1
        raise LogbookError(
            f"it is not clear which part of {found.song.title} is meant",
            f"name it with --part ({names})" + (" and --version" if versions else ""),
        )
    return views[0]


def _bar(place: str, version: Version) -> tuple[int, str]:
    """The bar that is meant, and which others the same words may mean."""
    from logbook.notebook.lines.where import Where
    from logbook.notebook.lines.words import ranges_of
    from logbook.records import Song

    where = Where(song=Song(title="-", versions=(version,)), version=version.name)
    first, *rest = ranges_of(place, where)
    return first.start.bar, ", ".join(f"bar {each.start.bar}" for each in rest)
