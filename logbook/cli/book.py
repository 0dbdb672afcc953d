"""`logbook book`: the whole log as pages to browse, on a phone too and without a network."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.asking import progress
from logbook.cli.log import opened
from logbook.cli.printing import remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records.log import Log
    from logbook.sheets.book_files import WrittenBook
    from logbook.sheets.looks import Look
    from logbook.sheets.play_data import Plays

app = new_app(
    "Write the whole log as pages: every song with its sheets, every session, instrument and "
    "person, and an index to search. Only what changed is written again.",
    examples=("logbook book ~/book", "logbook book ~/book --open", "logbook book ~/book --audio"),
    single=True,
)


@app.command()
def book(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where the pages go; it is made if need be.")
    ],
    open_it: Annotated[bool, typer.Option("--open", help="Open the index in the browser.")] = False,
    audio: Annotated[
        bool,
        typer.Option("--audio", help="Put recordings beside the pages, to be played from any bar."),
    ] = False,
    left_handed: Annotated[
        bool, typer.Option("--left-handed", help="Left-handed diagrams, the bass on the right.")
    ] = False,
) -> None:
    """Write the whole log as pages to browse."""
    from logbook.sheets.book import INDEX
    from logbook.sheets.looks import Look

    if folder.exists() and not folder.is_dir():
        raise LogbookError(f"{folder} is not a folder", "name one, or one that is still to be made")
    done = _written(folder, Look(left_handed=left_handed, sounds=audio))
    index = folder / INDEX
    gone = f", {done.removed} removed" if done.removed else ""
    say(f"{index}: {done.written} pages written, {done.unchanged} unchanged{gone}")
    for path in done.kept:
        remark(f"{path} is not a page of the book any more and was left")
    if open_it:
        import webbrowser

        if not webbrowser.open(index.resolve().as_uri()):
            raise LogbookError(f"nothing on this computer opens {index}", "open the file by hand")


def _written(folder: Path, look: Look) -> WrittenBook:
    """Write the book: songs are read while others are drawn already, where nobody waits for that.

    Its recordings are of all songs, and made first.
    """
    from logbook.sheets.book import Book, plan_book
    from logbook.sheets.book_files import write_book
    from logbook.store.journal import hold_up_writers
    from logbook.store.reading import each_record, read_log, read_titles, read_without_songs

    with ExitStack() as open_bars, opened() as store:

        def shown(total: int) -> Callable[[int], None]:
            return open_bars.enter_context(progress(total, "writing pages"))

        with store.reading() as connection:
            if not look.sounds and not hold_up_writers(connection):
                titles = [song.title for song in read_titles(connection)]
                songs = each_record(connection, "song", at_once=_AT_ONCE)
                book = Book(read_without_songs(connection), titles, songs, {})
                return write_book(book, folder, look, shown)
            log = read_log(connection)
        plays = _sounds(log, folder) if look.sounds else None
        return write_book(plan_book(log, plays), folder, look, shown)


_AT_ONCE = 50
"""So many songs are read together."""


def _sounds(log: Log, folder: Path) -> dict[str, Plays]:
    """Make the recordings beside the pages; return what each song's pages have to know."""
    from logbook.cli.playing import make_all
    from logbook.sheets.play_files import SOUNDS, page_texts, plan_sounds, remove_unused

    planned = make_all(plan_sounds(log), folder / SOUNDS)
    remove_unused(folder / SOUNDS, planned)
    return page_texts(log, planned, f"../{SOUNDS}")
