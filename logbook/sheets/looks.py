"""How a sheet is wanted: what a form may need to know about the reader's page or screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from logbook.sheets.blocks import Block


class Wanted(NamedTuple):
    """Which song, and what of it; empty is everything. `arrangement` is for the live sheet.

    `checks` asks for what the checks found as well, where it is not empty.
    """

    song: str
    version: str = ""
    part: str = ""
    arrangement: str = ""
    checks: str = ""


class Look(NamedTuple):
    """`width` in columns for text; `ascii` where the page has no drawing characters.

    `left_handed` turns diagrams round, the bass string on the right; `paper` is "A4" or "letter",
    `big` which names of a chart are the larger ones: "sounds" or "shapes". `plays` is what a page
    with recordings beside it has to know of them. `sounds` lets pictures show the sound of files
    that are there, which takes as long as it takes to read them. `beside` is how much of a live
    sheet's page, in points, is taken by what stands above its chart and below it.
    """

    width: int = 80
    ascii: bool = False
    left_handed: bool = False
    paper: str = "A4"
    big: str = "sounds"
    plays: str = ""
    sounds: bool = False
    beside: tuple[float, float] = (0.0, 0.0)

    @property
    def page(self) -> tuple[float, float]:
        """What a page has inside its margins, in points (A4 by ISO 216, letter 8 1/2 x 11 in)."""
        across, down = (612.0, 792.0) if self.paper == "letter" else (595.2, 841.8)
        return across - 26 * 72 / 25.4, down - 28 * 72 / 25.4


def key_by_size(text: str, look: Look) -> str:
    """How to read a chart, which line is the upper one following from which names are larger."""
    if look.big != "shapes" or not text.startswith("Upper line"):
        return text
    sounds, _, rest = text.removeprefix("Upper line: ").partition(" Lower line: ")
    shapes, stop, more = rest.partition(". ")
    return f"Upper line: {shapes}. Lower line: {sounds}{stop and ' '}{more}"


class Sheet(NamedTuple):
    """A sheet ready to be drawn: `data` is all it says, `blocks` the same in reading order.

    `rows` is what a spreadsheet gets, its heading first; empty where the sheet is no table.
    """

    kind: str
    title: str
    data: Any
    blocks: tuple[Block, ...]
    rows: tuple[tuple[object, ...], ...] = ()
