"""The text of a block as it is printed: one way to write sharps, flats and ranges in all of it.

Titles of songs and names of parts are as they were given. What a block holds to be worked with
(charts, cards, maps) is set by whoever draws it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from logbook.sheets.blocks import (
    Block,
    Facts,
    Heading,
    Items,
    NeckMoves,
    Paragraph,
    RoadMap,
    StageSongs,
    Study,
    Table,
)
from logbook.sheets.looks import Sheet
from logbook.sheets.signs import in_print

_TITLE_LEVELS = 2
_HANDED_OUT = frozenset({"player", "lesson", "live", "credits", "chart", "arrangement", "stage"})


def printed_blocks(sheet: Sheet) -> tuple[Block, ...]:
    """Return the blocks of a sheet for the text forms.

    What a command answers on the screen keeps the signs that are typed, so that it can be typed
    again; what is handed out is printed.
    """
    return tuple(map(printed, sheet.blocks)) if sheet.kind in _HANDED_OUT else sheet.blocks


def printed(block: Block) -> Block:
    """Return a block with its text as it is printed."""
    made: Block = _PRINTED.get(type(block), _kept)(block)
    return made


def _kept(block: Block) -> Block:
    return block


def _each(texts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(in_print(text) for text in texts)


def _heading(block: Heading) -> Heading:
    text = block.text if block.level <= _TITLE_LEVELS else in_print(block.text)
    return block._replace(text=text, aside=in_print(block.aside))


def _facts(block: Facts) -> Facts:
    return block._replace(
        rows=tuple((in_print(label), in_print(text)) for label, text in block.rows)
    )


def _paragraph(block: Paragraph) -> Paragraph:
    return block._replace(text=in_print(block.text))


def _items(block: Items) -> Items:
    return block._replace(items=_each(block.items))


def _table(block: Table) -> Table:
    return block._replace(rows=tuple(map(_each, block.rows)), caption=in_print(block.caption))


def _study(block: Study) -> Study:
    return block._replace(
        title=in_print(block.title),
        aside=in_print(block.aside),
        beside=tuple(_PRINTED.get(type(each), _kept)(each) for each in block.beside),
    )


def _moves(block: NeckMoves) -> NeckMoves:
    return block._replace(
        bars=in_print(block.bars),
        moves=tuple(
            move._replace(at=in_print(move.at), said=in_print(move.said)) for move in block.moves
        ),
        lines=tuple((label, in_print(text)) for label, text in block.lines),
    )


def _road_map(block: RoadMap) -> RoadMap:
    return block._replace(
        stops=tuple(stop._replace(bars=in_print(stop.bars)) for stop in block.stops)
    )


def _stage_songs(block: StageSongs) -> StageSongs:
    return block._replace(
        songs=tuple(
            song._replace(
                key=in_print(song.key),
                rigs=_each(song.rigs),
                changes=_each(song.changes),
                then=song.then,
                notes=in_print(song.notes),
            )
            for song in block.songs
        )
    )


_PRINTED: dict[type, Callable[[Any], Any]] = {
    Heading: _heading,
    Facts: _facts,
    Paragraph: _paragraph,
    Items: _items,
    Table: _table,
    Study: _study,
    NeckMoves: _moves,
    RoadMap: _road_map,
    StageSongs: _stage_songs,
}
