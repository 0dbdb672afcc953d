"""A sheet as text: for the terminal, where marks become weight and colour, and for a file.

Everything is told by words, place and signs; colour only repeats it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.sheets.blocks import Block, Heading
from logbook.sheets.lines import BAD, CARE, FAINT, LABEL, NAME, TITLE, Line, line_text
from logbook.sheets.looks import Look, Sheet
from logbook.sheets.text_blocks import block_lines

if TYPE_CHECKING:
    from rich.console import Console

SUFFIX = ".txt"
_PLAIN_SIGNS = str.maketrans({"·": ".", "…": "~", "“": '"', "”": '"'})
_STYLES = {
    TITLE: "bold",
    NAME: "bold cyan",
    LABEL: "dim",
    FAINT: "dim",
    CARE: "yellow",
    BAD: "bold red",
    "": "",
}


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet as plain text, lines at most `look.width` columns wide."""
    drawn = "".join(f"{line_text(line)}\n" for line in sheet_lines(sheet, look))
    return drawn.translate(_PLAIN_SIGNS) if look.ascii else drawn


def show(sheet: Sheet, console: Console, look: Look) -> None:
    """Print the sheet on a console that has weight and colour."""
    from rich.text import Text

    whole = Text(no_wrap=True, overflow="ignore")
    for line in sheet_lines(sheet, look):
        for text, mark in line:
            whole.append(text, _STYLES[mark] or None)
        whole.append("\n")
    console.print(whole, end="", crop=False)


def sheet_lines(sheet: Sheet, look: Look) -> list[Line]:
    """Return the marked lines of a sheet."""
    lines: list[Line] = []
    before: Block | None = None
    for block in sheet.blocks:
        drawn = block_lines(block, look)
        if lines and drawn and not isinstance(before, Heading):
            lines.append(())
        lines += drawn
        before = block
    return lines
