"""What pages of the book are made of: links, where each thing's page stands, a page of facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from logbook.plaintext import clean
from logbook.records.recalls import Photograph
from logbook.sheets.blocks import Block


class Link(NamedTuple):
    """A link as a page shows it: its address from the book's folder, its text, a word on it."""

    address: str
    text: str
    aside: str = ""


class Named(NamedTuple):
    """Where the pages of everything that has a name stand, by kind and name."""

    pages: Mapping[str, Mapping[str, str]]

    def link(self, kind: str, name: str, aside: str = "") -> Link | None:
        """The link to a thing's page, None where the log has no such thing."""
        address = self.pages[kind].get(name)
        return None if address is None else Link(address, clean(name), clean(aside))


class ThingPage(NamedTuple):
    """A page about a session, an instrument or a person: facts, and links under headings.

    `blocks` say more, as a sheet does; `photographs` are looked at when the page is drawn; `plays`
    is what a page that plays has to know.
    """

    path: str
    title: str
    kind: str
    facts: tuple[tuple[str, str], ...]
    links: tuple[tuple[str, tuple[Link, ...]], ...]
    words: str = ""
    blocks: tuple[Block, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    plays: str = ""
