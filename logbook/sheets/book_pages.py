"""How the pages of a book look: song sheets with links on top, things, and the index."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from logbook.errors import LogbookError
from logbook.plaintext import clean
from logbook.sheets import html
from logbook.sheets.blocks import WRONG, Block, Heading, Items, Pictures
from logbook.sheets.book import INDEX, Book, IndexEntry, SongPages
from logbook.sheets.book_links import Link, ThingPage
from logbook.sheets.book_takes import TAKES
from logbook.sheets.catalog import make_sheet
from logbook.sheets.html_views import block_view
from logbook.sheets.looks import Look, Sheet, Wanted
from logbook.sheets.printed import printed
from logbook.sheets.recalls import pictures_of

_HEADINGS = {
    "song": "Songs",
    "release": "Releases",
    "set list": "Set lists",
    "session": "Sessions",
    "instrument": "Instruments",
    "person": "People",
}
BOOK = "logbook book"
STYLES = "book.css"
"""The file in a book's folder with how all of its pages look."""
_UP = "../"


def song_page_texts(pages: SongPages, look: Look) -> list[tuple[str, str]]:
    """Return path and text of each page of a song.

    A sheet that cannot be worked out becomes a page that says why, so that the rest of the book
    is written all the same.
    """
    links = [(f"{_UP}{INDEX}", "All songs")]
    links += [(path.rpartition("/")[2], kind) for kind, path in pages.paths]
    return [
        (
            path,
            html.draw_page(
                _sheet(pages, kind),
                look,
                links=links,
                here=kind,
                related=_relative(pages.related),
                made_by=BOOK,
                styles=f"{_UP}{STYLES}",
                plays=pages.plays.of(kind) if pages.plays else "",
            ),
        )
        for kind, path in pages.paths
    ]


def _sheet(pages: SongPages, kind: str) -> Sheet:
    try:
        return make_sheet(kind, pages.log, Wanted(pages.title))
    except LogbookError as error:
        said = (
            Heading(1, clean(pages.title), kind),
            Items((f"cannot be worked out: {error}",), WRONG),
        )
        return Sheet(kind, clean(pages.title), None, said)


def _relative(links: Iterable[Link]) -> list[Link]:
    """Links as they are from a page that stands in a folder of the book."""
    return [link._replace(address=f"{_UP}{link.address}") for link in links]


def thing_page_text(page: ThingPage) -> str:
    """Return the text of a page about a session, an instrument or a person."""
    pictures = pictures_of(page.photographs)
    blocks = (*page.blocks, *((Pictures(pictures),) if pictures else ()))
    if page.kind == TAKES:
        return _takes_page(page, blocks)
    return html.render(
        "thing.html",
        styles=f"{_UP}{STYLES}",
        made_by=BOOK,
        title=page.title,
        kind=page.kind,
        facts=page.facts,
        links=[(heading, _relative(links)) for heading, links in page.links],
        views=[block_view(printed(block), Look()) for block in blocks],
        index=f"{_UP}{INDEX}",
    )


def _takes_page(page: ThingPage, blocks: tuple[Block, ...]) -> str:
    """The page of a song's takes, which may play as its sheets do."""
    related = [
        link._replace(aside=heading.casefold().removesuffix("s"))
        for heading, links in page.links
        for link in links
    ]
    return html.draw_page(
        Sheet(TAKES, page.title, None, blocks),
        Look(),
        links=[(f"{_UP}{INDEX}", "All songs")],
        related=_relative(related),
        made_by=BOOK,
        styles=f"{_UP}{STYLES}",
        plays=page.plays,
    )


def styles_text() -> str:
    """Return the style sheet of a book, which begins by saying whose it is."""
    return f"/* {BOOK} */\n{html.style_sheet()}"


def index_text(book: Book) -> str:
    """Return the text of the index."""
    return html.render(
        "index.html",
        styles=STYLES,
        made_by=BOOK,
        title="Logbook",
        groups=[
            {"heading": heading, "entries": found, "count": len(found)}
            for kind, heading in _HEADINGS.items()
            if (found := _of_kind(book.entries, kind))
        ],
    )


def _of_kind(entries: Sequence[IndexEntry], kind: str) -> list[IndexEntry]:
    return sorted(
        (entry for entry in entries if entry.kind == kind),
        key=lambda entry: (entry.link.text.casefold(), entry.link.text),
    )
