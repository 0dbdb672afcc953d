"""What a page shows of each kind of block, ready for the template to put in place.

A view is a dictionary of texts, lists of such, and finished pictures; the template loops over it
and works nothing out.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup

from logbook.sheets.blocks import (
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
from logbook.sheets.html_cards import View, card_view, chord_key, columns
from logbook.sheets.html_charts import bar_map_view, chart_view
from logbook.sheets.html_patterns import patterns_view
from logbook.sheets.looks import Look, key_by_size
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.svg_chord import chord_svg
from logbook.sheets.svg_neck import move_svg

_MOVES_KEY = (
    "Dotted ring: where a finger was. Dot: where it goes. Dot in a ring: it stays. At the nut's "
    "end: × not played, ○ open. String 1 is on top; frets from the nut."
)


def block_view(block: Block, look: Look) -> View:
    """Return the view of a block; `kind` names the macro that shows it."""
    kind, view = _VIEWS[type(block)]
    return {"kind": kind, **view(block, look)}


def _heading(block: Heading, look: Look) -> View:
    del look
    return {"level": block.level, "text": block.text, "aside": block.aside}


def _facts(block: Facts, look: Look) -> View:
    """Rows without a label belong to the label above them."""
    del look
    rows: list[tuple[str, list[str]]] = []
    for label, text in block.rows:
        if label or not rows:
            rows.append((label, [text]))
        else:
            rows[-1][1].append(text)
    return {"rows": rows, "large": block.large}


def _paragraph(block: Paragraph, look: Look) -> View:
    return {"text": key_by_size(block.text, look), "mood": block.mood}


def _items(block: Items, look: Look) -> View:
    del look
    loops = block.loops or ("",) * len(block.items)
    return {"items_": list(zip(block.items, loops, strict=True)), "mood": block.mood}


def _pictures(block: Pictures, look: Look) -> View:
    from base64 import b64encode

    del look
    return {
        "pictures": [
            {
                "caption": each.caption,
                "path": each.path,
                "source": f"data:{each.media};base64,{b64encode(each.data).decode('ascii')}"
                if each.media
                else "",
            }
            for each in block.pictures
        ]
    }


def _staff(block: Staff, look: Look) -> View:
    from logbook.sheets.engraving import engraved

    return {"systems": [Markup(each) for each in engraved(block.score, look.page[0])]}


def _table(block: Table, look: Look) -> View:
    del look
    takes = block.takes or ("",) * len(block.rows)
    rows = list(zip(block.rows, takes, strict=True))
    return {"head": block.head, "rows": rows, "caption": block.caption}


def _chords(block: Chords, look: Look) -> View:
    return {
        "cards": [card_view(card, look) for card in block.cards],
        "large": block.large,
        "charted": block.charted,
        "key": chord_key(block.cards, look),
    }


def _chord_key(block: ChordKey, look: Look) -> View:
    return {"text": chord_key(block.cards, look)}


def _tab(block: Tab, look: Look) -> View:
    del look
    return {
        "sections": [
            {
                "name": each.name,
                "bars": f"{'bars' if '-' in each.bars else 'bar'} {with_dashes(each.bars)}",
                "systems": ["\n".join(system) for system in each.systems],
            }
            for each in block.sections
        ]
    }


def _diagram(block: Diagram, look: Look) -> View:
    voicing = block.voicing
    shape = "".join(f", {name}" for name in block.names[1:])
    label = f"{block.names[0] if block.names else voicing.chord}{shape}"
    return {
        "names": block.names,
        "columns": columns(len(voicing.strings)),
        "svg": Markup(
            chord_svg(
                voicing,
                label=f"{label}: frets {voicing.from_nut} from the nut",
                ornaments=(),
                counted=voicing.line.counted,
                left_handed=look.left_handed,
            )
        ),
    }


def _study(block: Study, look: Look) -> View:
    return {
        "title": block.title,
        "aside": block.aside,
        "card": card_view(block.card, look),
        "beside": [block_view(each, look) for each in block.beside],
    }


def _moves(block: NeckMoves, look: Look) -> View:
    voicings = [
        card.drawn
        for move in block.moves
        for card in (move.before, move.after)
        if card.drawn is not None
    ]
    return {
        "section": block.section,
        "bars": block.bars,
        "lines": block.lines,
        "key": _MOVES_KEY,
        "moves": [
            {
                "names": with_signs(f"{move.before.concert} → {move.after.concert}"),
                "at": move.at,
                "said": move.said,
                "svg": Markup(
                    move_svg(
                        move.before.drawn,
                        move.after.drawn,
                        voicings,
                        label=f"{move.before.concert} to {move.after.concert}: {move.said}",
                        left_handed=look.left_handed,
                    )
                ),
            }
            for move in block.moves
            if move.before.drawn is not None and move.after.drawn is not None
        ],
    }


def _road_map(block: RoadMap, look: Look) -> View:
    del look
    return {"stops": block.stops}


def _stage_songs(block: StageSongs, look: Look) -> View:
    del look
    return {
        "songs": [
            {**song._asdict(), "key": with_signs(song.key) if song.key[:1] else ""}
            for song in block.songs
        ]
    }


_VIEWS: dict[type, tuple[str, Callable[[Any, Look], View]]] = {
    Heading: ("heading", _heading),
    Facts: ("facts", _facts),
    Paragraph: ("paragraph", _paragraph),
    Items: ("items", _items),
    Table: ("table", _table),
    Pictures: ("pictures", _pictures),
    Staff: ("staff", _staff),
    Chords: ("chords", _chords),
    Patterns: ("patterns", patterns_view),
    Chart: ("chart", chart_view),
    BarMap: ("bar_map", bar_map_view),
    Diagram: ("one_diagram", _diagram),
    Tab: ("tab", _tab),
    ChordKey: ("chord_key", _chord_key),
    Study: ("study", _study),
    NeckMoves: ("moves", _moves),
    RoadMap: ("road_map", _road_map),
    StageSongs: ("stage_songs", _stage_songs),
}
