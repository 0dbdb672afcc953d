"""A sheet as text: for the terminal, where marks become weight and colour, and for a file.

Everything is told by words, place and signs; colour only repeats it.
"""

from __future__ import annotations

from logbook.sheets.blocks import Block, Heading
from logbook.sheets.lines import BAD, CARE, FAINT, LABEL, NAME, TITLE, WORDS, Line, line_text
from logbook.sheets.looks import Look, Sheet
from logbook.sheets.printed import printed_blocks
from logbook.sheets.text_blocks import block_lines

SUFFIX = ".txt"
PLAIN_SIGNS = str.maketrans(
    {"·": ".", "…": "~", "“": '"', "”": '"', "♯": "#", "♭": "b", "–": "-", "♩": "q", "♪": "e",
     "╱": "/", "→": ">", "’": "'", "×": "x"}
)  # fmt: skip
_WEIGHTS = {TITLE: "1", NAME: "1;36", LABEL: "2", FAINT: "2", WORDS: "3", CARE: "33", BAD: "1;31"}
"""Select Graphic Rendition parameters (ECMA-48, 8.3.117)."""


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet as plain text, lines at most `look.width` columns wide."""
    drawn = "".join(f"{line_text(line)}\n" for line in sheet_lines(sheet, look))
    return drawn.translate(PLAIN_SIGNS) if look.ascii else drawn


def draw_coloured(sheet: Sheet, look: Look) -> str:
    """Return the same for a terminal that has weight and colour."""
    drawn = "".join(f"{_coloured(line)}\n" for line in sheet_lines(sheet, look))
    return drawn.translate(PLAIN_SIGNS) if look.ascii else drawn


def _coloured(line: Line) -> str:
    return "".join(
        f"\x1b[{_WEIGHTS[mark]}m{text}\x1b[0m" if mark in _WEIGHTS else text for text, mark in line
    )


def sheet_lines(sheet: Sheet, look: Look) -> list[Line]:
    """Return the marked lines of a sheet."""
    lines: list[Line] = []
    before: Block | None = None
    for block in printed_blocks(sheet):
        drawn = block_lines(block, look)
        if lines and drawn and not isinstance(before, Heading):
            lines.append(())
        lines += drawn
        before = block
    return lines
