"""How each kind of block looks as text.

The look is that of paper in a studio: a rule under a title, labels in a narrow column, diagrams
with their facts beneath, a chart in rows of four.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import zip_longest
from typing import Any

from logbook.sheets.blocks import (
    CAUTION,
    KEY,
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
from logbook.sheets.lines import (
    BAD,
    CARE,
    FAINT,
    LABEL,
    NAME,
    TITLE,
    Line,
    cell_len,
    cut,
    padded,
    plain,
    widest,
    wrapped,
)
from logbook.sheets.looks import Look, key_by_size
from logbook.sheets.signs import with_dashes

_MOODS = {CAUTION: CARE, WRONG: BAD, KEY: FAINT}
_LABEL_WIDTH = 14
_RULES = {1: "=", 2: "-"}
_GAP = 2
_LEAST_COLUMN = 4


def block_lines(block: Block, look: Look) -> list[Line]:
    """Return the marked lines of a block, at most `look.width` columns wide."""
    return _DRAWN[type(block)](block, look)


def _heading(block: Heading, look: Look) -> list[Line]:
    loud = block.level < 3 and not block.quiet
    text = block.text.upper() if loud else block.text
    lines: list[Line] = [plain(row, TITLE) for row in wrapped(text, look.width)]
    room = look.width - widest(wrapped(text, look.width)[-1:])
    if block.aside and room >= cell_len(block.aside) + _GAP:
        gap = _GAP if not loud else room - cell_len(block.aside)
        lines[-1] += ((" " * gap + block.aside, FAINT),)
    elif block.aside:
        lines += [plain(row, FAINT) for row in wrapped(block.aside, look.width)]
    if loud:
        lines.append(plain(_RULES[block.level] * look.width, FAINT))
    return lines


def _facts(block: Facts, look: Look) -> list[Line]:
    short = (label for label, _ in block.rows if cell_len(label) <= _LABEL_WIDTH)
    width = max(widest(short) + _GAP, block.column)
    lines: list[Line] = []
    for label, text in block.rows:
        first = padded(label, width)
        if cell_len(label) > width - _GAP:  # a long label has a line of its own
            lines += [plain(row, LABEL) for row in wrapped(label, look.width)]
            first = " " * width
        for row in wrapped(text, look.width - width) or [""]:
            lines.append(((first, LABEL), (row, TITLE if block.large else "")))
            first = " " * width
    return lines


def _paragraph(block: Paragraph, look: Look) -> list[Line]:
    said = key_by_size(block.text, look) if block.mood == KEY else block.text
    return [plain(row, _MOODS.get(block.mood, "")) for row in wrapped(said, look.width)]


def _items(block: Items, look: Look) -> list[Line]:
    mark = _MOODS.get(block.mood, "")
    sign = "! " if block.mood == WRONG else "- "
    lines: list[Line] = []
    for item in block.items:
        for number, row in enumerate(wrapped(item, look.width - 2)):
            lines.append(((sign if number == 0 else "  ", mark), (row, "")))
    return lines


def _pictures(block: Pictures, look: Look) -> list[Line]:
    """Where each photograph lies, since a terminal shows none."""
    lines: list[Line] = []
    for each in block.pictures:
        text = f"{each.caption}: {each.path}"
        lines += [plain(row) for row in wrapped(text, look.width)]
    return lines


def _staff(block: Staff, look: Look) -> list[Line]:
    """Nothing: its notes are said in words as well."""
    del block, look
    return []


def _table(block: Table, look: Look) -> list[Line]:
    """Columns as wide as they need; where room is short the widest give way and wrap."""
    columns = list(zip(block.head, *block.rows, strict=True))
    widths = [widest(column) for column in columns]
    least = [widest(word for cell in column for word in cell.split()) for column in columns]
    while sum(widths) + _GAP * (len(widths) - 1) > look.width:
        broad = max(range(len(widths)), key=lambda at: (widths[at] > least[at], widths[at]))
        if widths[broad] <= _LEAST_COLUMN:
            break
        widths[broad] -= 1
    lines = [plain(row, FAINT) for row in wrapped(block.caption, look.width)]
    lines += [plain(text, LABEL) for text in _row(block.head, widths)]
    for row in block.rows:
        lines += [plain(text) for text in _row(row, widths)]
    return lines


def _row(cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    texts = [wrapped(cell, width) for cell, width in zip(cells, widths, strict=True)]
    gap = " " * _GAP
    return [
        gap.join(padded(text, width) for text, width in zip(across, widths, strict=True)).rstrip()
        for across in zip_longest(*texts, fillvalue="")
    ]


def _bar_map(block: BarMap, look: Look) -> list[Line]:
    from logbook.sheets.text_bar_map import bar_map_lines

    return [plain(line) for line in bar_map_lines(block.rows, look.width)]


def _tab(block: Tab, look: Look) -> list[Line]:
    lines: list[Line] = []
    for section in block.sections:
        if lines:
            lines.append(())
        word = "bars" if "-" in section.bars else "bar"
        lines.append(((section.name, NAME), (f", {word} {with_dashes(section.bars)}", FAINT)))
        for number, system in enumerate(section.systems):
            lines += [()] if number else []
            lines += [plain(cut(line, look.width)) for line in system]
    return lines


def _diagram(block: Diagram, look: Look) -> list[Line]:
    from logbook.strings.diagram import ASCII, LINES, draw

    drawn = draw(
        block.voicing.position,
        block.voicing.tuning,
        block.voicing.capos,
        fingers=block.voicing.fingers,
        title=block.names,
        signs=ASCII if look.ascii else LINES,
    )
    return [plain(line.rstrip()) for line in drawn]


def _chords(block: Chords, look: Look) -> list[Line]:
    from logbook.sheets.text_chords import chord_lines

    return chord_lines(block.cards, look)


def _patterns(block: Patterns, look: Look) -> list[Line]:
    from logbook.sheets.text_patterns import pattern_lines

    return pattern_lines(block.cards, look)


def _chart(block: Chart, look: Look) -> list[Line]:
    from logbook.sheets.text_chart import chart_lines

    return chart_lines(block, look)


def _chord_key(block: ChordKey, look: Look) -> list[Line]:
    from logbook.sheets.text_chords import chords_key

    return [plain(row, FAINT) for row in wrapped(chords_key(block.cards, look), look.width)]


def _study(block: Study, look: Look) -> list[Line]:
    from logbook.sheets.text_lessons import study_lines

    return study_lines(block, look, block_lines)


def _moves(block: NeckMoves, look: Look) -> list[Line]:
    from logbook.sheets.text_lessons import moves_lines

    return moves_lines(block, look)


def _stage_songs(block: StageSongs, look: Look) -> list[Line]:
    lines: list[Line] = []
    for song in block.songs:
        lines += [()] if lines else []
        title = f"{song.number}. {song.title.upper()}"
        lines += [plain(row, TITLE) for row in wrapped(title, look.width)]
        said = ", ".join(filter(None, (song.key, song.tempo)))
        for text in (said, *song.rigs, song.notes, song.then):
            lines += [plain(f"   {row}") for row in wrapped(text, look.width - 3)]
        for change in song.changes:
            lines += [plain(f"   > {row}", CARE) for row in wrapped(change, look.width - 5)]
    return lines


def _road_map(block: RoadMap, look: Look) -> list[Line]:
    from logbook.sheets.text_lessons import road_lines

    return road_lines(block, look)


_DRAWN: dict[type, Callable[[Any, Look], list[Line]]] = {
    Heading: _heading,
    Facts: _facts,
    Paragraph: _paragraph,
    Items: _items,
    Table: _table,
    Pictures: _pictures,
    Staff: _staff,
    Chords: _chords,
    Patterns: _patterns,
    Chart: _chart,
    BarMap: _bar_map,
    Tab: _tab,
    Diagram: _diagram,
    ChordKey: _chord_key,
    Study: _study,
    NeckMoves: _moves,
    RoadMap: _road_map,
    StageSongs: _stage_songs,
}
