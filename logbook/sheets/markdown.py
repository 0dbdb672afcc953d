"""A sheet as Markdown: text and tables as such, diagrams and charts as fenced blocks.

What stands in columns (diagrams, patterns, charts, bar maps) is the text form's drawing, since
only a fixed pitch keeps it upright. Names and notes are escaped, so that none is read as markup
(CommonMark 0.31, section 2.4: any ASCII punctuation may be escaped with a backslash).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from logbook.sheets.blocks import (
    CAUTION,
    WRONG,
    BarMap,
    Block,
    Chart,
    ChordKey,
    Chords,
    Diagram,
    Facts,
    Heading,
    Items,
    NeckMoves,
    Paragraph,
    Patterns,
    Pictures,
    RoadMap,
    Staff,
    StageSongs,
    Study,
    Tab,
    Table,
)
from logbook.sheets.lines import line_text
from logbook.sheets.looks import Look, Sheet, key_by_size
from logbook.sheets.printed import printed_blocks
from logbook.sheets.signs import with_signs
from logbook.sheets.text import PLAIN_SIGNS
from logbook.sheets.text_blocks import block_lines
from logbook.sheets.text_chords import card_lines, chords_key

SUFFIX = ".md"
_ALWAYS = frozenset("\\`*_[]<>|~&$")
_AT_START = frozenset("+-=")


def draw(sheet: Sheet, look: Look) -> str:
    """Return the sheet as Markdown."""
    drawn = [_DRAWN[type(block)](block, look) for block in printed_blocks(sheet)]
    if not any(isinstance(block, Heading) and block.level == 1 for block in sheet.blocks):
        drawn.insert(0, f"# {escaped(sheet.title)}")
    page = "\n\n".join(filter(None, drawn)) + "\n"
    return page.translate(PLAIN_SIGNS) if look.ascii else page


def escaped(text: str) -> str:
    """Return text in which Markdown sees no markup, on one line."""
    made = ""
    words = " ".join(text.split())
    for before, character in pairwise(f" {words}"):
        opens_heading = character == "#" and before == " "
        if character in _ALWAYS or opens_heading or (not made and character in _AT_START):
            made += "\\"
        made += character
    return _without_list_number(made)


def _without_list_number(text: str) -> str:
    """Keep `1. May` from becoming a list."""
    digits = len(text) - len(text.lstrip("0123456789"))
    if digits and text[digits : digits + 1] in (".", ")"):
        return f"{text[:digits]}\\{text[digits:]}"
    return text


def fenced(lines: Sequence[str]) -> str:
    """Return lines as a block of fixed pitch; its fence is longer than any inside."""
    ticks = "```"
    while any(ticks in line for line in lines):
        ticks += "`"
    return "\n".join((f"{ticks}text", *lines, ticks))


def _heading(block: Heading, look: Look) -> str:
    del look
    aside = f" ({escaped(block.aside)})" if block.aside else ""
    return f"{'#' * block.level} {escaped(block.text)}{aside}"


def _facts(block: Facts, look: Look) -> str:
    del look
    lines: list[str] = []
    for label, text in block.rows:
        said = f"**{escaped(text)}**" if block.large else escaped(text)
        if label:
            lines.append(f"- **{escaped(label)}**: {said}")
        else:
            lines.append(f"  - {said}")
    return "\n".join(lines)


def _paragraph(block: Paragraph, look: Look) -> str:
    said = escaped(key_by_size(block.text, look))
    return f"> {said}" if block.mood == CAUTION else said


def _items(block: Items, look: Look) -> str:
    del look
    sign = "**!** " if block.mood == WRONG else ""
    return "\n".join(f"- {sign}{escaped(item)}" for item in block.items)


def _pictures(block: Pictures, look: Look) -> str:
    del look
    return "\n".join(f"- {escaped(each.caption)}: {escaped(each.path)}" for each in block.pictures)


def _staff(block: Staff, look: Look) -> str:
    """Nothing: its notes are said in words as well."""
    del block, look
    return ""


def _table(block: Table, look: Look) -> str:
    del look
    rows = [block.head, ("---",) * len(block.head)]
    lines = [_row(row, raw=number == 1) for number, row in enumerate(rows)]
    lines += [_row(row) for row in block.rows]
    if block.caption:
        lines = [escaped(block.caption), "", *lines]
    return "\n".join(lines)


def _row(cells: Sequence[str], *, raw: bool = False) -> str:
    return f"| {' | '.join(cell if raw else escaped(cell) for cell in cells)} |"


def _drawn_as_text(block: Block, look: Look) -> str:
    return fenced([line_text(line) for line in block_lines(block, look)])


def _chord_key(block: ChordKey, look: Look) -> str:
    return escaped(chords_key(block.cards, look))


def _study(block: Study, look: Look) -> str:
    aside = f" ({escaped(block.aside)})" if block.aside else ""
    diagram = [line.rstrip() for line in card_lines(block.card, look, bare=True)]
    beside = [_DRAWN[type(each)](each, look) for each in block.beside]
    return "\n\n".join((f"#### {escaped(block.title)}{aside}", fenced(diagram), *beside))


def _moves(block: NeckMoves, look: Look) -> str:
    del look
    lines: list[str] = []
    if block.section:
        where = f", bars {escaped(block.bars)}" if block.bars else ""
        lines = [f"**{escaped(block.section)}**{where}", ""]
    lines += [
        f"- **{escaped(with_signs(f'{move.before.concert} to {move.after.concert}'))}**, "
        f"{escaped(move.at)}: {escaped(move.said)}"
        for move in block.moves
    ]
    lines += [f"- {escaped(label)}: {escaped(text)}" for label, text in block.lines]
    return "\n".join(lines)


def _road_map(block: RoadMap, look: Look) -> str:
    del look
    rows = [
        (stop.name, stop.length, stop.how, stop.bars, stop.starts_at, stop.said)
        for stop in block.stops
    ]
    head = ("section", "length", "how", "bars", "starts at", "said")
    return "\n".join([_row(head), _row(("---",) * len(head), raw=True), *map(_row, rows)])


_DRAWN: dict[type, Callable[[Any, Look], str]] = {
    Heading: _heading,
    Facts: _facts,
    Paragraph: _paragraph,
    Items: _items,
    Table: _table,
    Pictures: _pictures,
    Staff: _staff,
    Chords: _drawn_as_text,
    Patterns: _drawn_as_text,
    Chart: _drawn_as_text,
    BarMap: _drawn_as_text,
    Diagram: _drawn_as_text,
    Tab: _drawn_as_text,
    ChordKey: _chord_key,
    Study: _study,
    NeckMoves: _moves,
    RoadMap: _road_map,
    StageSongs: _drawn_as_text,
}
