"""What a page shows of each kind of block, ready for the template to put in place.

A view is a dictionary of texts, lists of such, and finished pictures; the template loops over it
and works nothing out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    Moves,
    Paragraph,
    Patterns,
    RoadMap,
    StageSongs,
    Study,
    Tab,
    Table,
)
from logbook.sheets.charts import ChartBar
from logbook.sheets.chord_words import diagram_said, under_name
from logbook.sheets.chords import ChordCard
from logbook.sheets.folding import fold
from logbook.sheets.looks import Look
from logbook.sheets.patterns import PatternCard
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.svg_chart import chart_pages
from logbook.sheets.svg_chord import LEFT, RIGHT, STRING_GAP, chord_svg, picture_width
from logbook.sheets.svg_comp import comp_row_svg, take_keys
from logbook.sheets.svg_neck import move_svg
from logbook.sheets.svg_strip import strip_svg
from logbook.sheets.text_bar_map import bar_map_marks
from logbook.sheets.text_chart import HELD, SILENT, SLASH, bar_tokens, fold_said, section_about
from logbook.sheets.text_chords import card_remarks
from logbook.strings.capo import whole_capo
from logbook.strings.ornaments import read_ornaments

View = dict[str, Any]

_HEAD, _STAGE_HEAD = 150.0, 305.0
"""What else stands on a chart's page, in points: title and facts, on stage also what changed."""
_SIGNS = {"D": "↓", "U": "↑", "d": "(↓)", "u": "(↑)", ".": "·"}
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
    del look
    return {"text": block.text, "mood": block.mood}


def _items(block: Items, look: Look) -> View:
    del look
    return {"items_": block.items, "mood": block.mood}


def _table(block: Table, look: Look) -> View:
    del look
    return {"head": block.head, "rows": block.rows, "caption": block.caption}


def _chords(block: Chords, look: Look) -> View:
    return {
        "cards": [card_view(card, look) for card in block.cards],
        "large": block.large,
        "charted": block.charted,
        "key": chord_key(block.cards, look),
    }


def card_view(card: ChordCard, look: Look) -> View:
    """Return the view of one chord card."""
    drawn = None
    if card.drawn is not None:
        drawn = Markup(
            chord_svg(
                card.drawn,
                label=diagram_said(card),
                ornaments=read_ornaments(", ".join(card.ornaments)),
                counted=card.counted,
                left_handed=look.left_handed,
            )
        )
    return {
        "name": with_signs(card.concert),
        "under": [with_signs(each) for each in under_name(card)],
        "svg": drawn,
        "strings": _string_rows(card, look),
        "columns": _columns(len(card.drawn.strings) if card.drawn else 0),
        "plain": "" if drawn else f"{card.as_written} (from the {card.counted})",
        "remarks": card_remarks(card),
    }


def _string_rows(card: ChordCard, look: Look) -> list[tuple[str, list[str]]]:
    """The rows of a card's table: string numbers first, then frets, notes, degrees."""
    voicing = card.drawn
    if voicing is None:
        return []
    rows = [("string", [str(view.number) for view in voicing.strings])]
    if voicing.capos:
        mark = {card.counted: " ◂"}
        rows.append((f"nut{mark.get('nut', '')}", card.from_nut.split()))
        rows.append((f"capo{mark.get('capo', '')}", card.from_capo.split()))
    else:
        rows.append(("fret", card.from_nut.split()))
    if card.notes:
        rows.append(("note", [with_signs(note or "–") for note in card.notes]))
        rows.append(("degree", [with_signs(degree or "–") for degree in card.degrees]))
    return [(label, cells[::-1] if look.left_handed else cells) for label, cells in rows]


def _columns(strings: int) -> str:
    """The style that sets a card's columns under the strings of its diagram."""
    if not strings:
        return ""
    whole = picture_width(strings)
    table = whole - RIGHT + STRING_GAP / 2
    label = LEFT - STRING_GAP / 2
    return (
        f"--wide:{whole / 16:.2f}rem;--table:{100 * table / whole:.1f}%;"
        f"--label:{100 * label / table:.1f}%"
    )


def chord_key(cards: Sequence[ChordCard], look: Look) -> str:
    """How to read the diagrams of these cards; empty where none is drawn."""
    drawn = [card for card in cards if card.drawn is not None]
    if not drawn:
        return ""
    key = "× not played, ○ open, dotted ring: may ring; in the dots fingers 1 to 4, T thumb"
    if any(card.drawn and whole_capo(card.drawn.tuning, card.drawn.capos) for card in drawn):
        key += "; frets on the left from the nut, on the right from the capo"
    else:
        key += "; frets on the left from the nut"
    if any(card.drawn and card.drawn.capos for card in drawn):
        key += "; ◂ the count it was written in"
    if look.left_handed:
        key += "; drawn for the left hand, the bass string on the right"
    guessed = [card.label for card in drawn if card.fingers_proposed]
    if guessed:
        which = "" if len(guessed) == len(drawn) else f" of {', '.join(guessed)}"
        key += f"; the fingers{which} are proposed, nobody noted them"
    return f"{key}."


def _chord_key(block: ChordKey, look: Look) -> View:
    return {"text": chord_key(block.cards, look)}


def _patterns(block: Patterns, look: Look) -> View:
    del look
    key: dict[str, str] = {}
    for card in block.cards:
        key.update(card.key)
    return {
        "cards": [_pattern(card) for card in block.cards],
        "key": [(_SIGNS.get(letter, letter), meaning) for letter, meaning in key.items()],
    }


def _pattern(card: PatternCard) -> View:
    return {
        "name": card.label,
        "told": ", ".join(filter(None, (card.meter, f"grid {card.grid}", card.feel))),
        "bars": [_beats(bar.counts, bar.strokes, bar.strings) for bar in card.bars],
        "plain": card.as_written if card.problem else "",
        "problem": card.problem,
        "said": card.said,
        "with_strings": any(any(bar.strings) for bar in card.bars),
    }


def _beats(counts: Sequence[str], strokes: Sequence[str], strings: Sequence[str]) -> list[View]:
    """The steps of a bar in groups of a beat, so that a narrow page breaks between beats."""
    beats: list[list[View]] = []
    for place, (count, stroke) in enumerate(zip(counts, strokes, strict=True)):
        if not beats or count.isdecimal():
            beats.append([])
        accent = stroke.startswith(">")
        plain = stroke.removeprefix(">")
        beats[-1].append(
            {
                "count": count,
                "stroke": _SIGNS.get(plain, plain),
                "accent": accent,
                "strings": strings[place] if strings else "",
                "rests": plain == ".",
            }
        )
    return [{"steps": steps} for steps in beats]


def _chart(block: Chart, look: Look) -> View:
    """The chart twice: engraved for paper, and in rows that fit any screen."""
    across, down = look.page
    across = min(across, look._replace(paper="A4").page[0])
    pages = chart_pages(
        block,
        width=across,
        height=down - (_STAGE_HEAD if block.stage else _HEAD),
        left_handed=look.left_handed,
        big=look.big,
    )
    return {
        "pages": [Markup(page) for page in pages],
        "with_shapes": block.with_shapes,
        "with_labels": block.with_labels,
        "stage": block.stage,
        "sections": [
            {
                "name": each.section.name or "outside the form",
                "bars": f"{'bars' if '-' in each.section.bars else 'bar'} "
                f"{with_dashes(each.section.bars)}{fold_said(each)}",
                "about": section_about(each.section),
                "said": each.section.said,
                "tacet": not each.section.has_bars,
                "rows": [
                    {
                        "ending": max(number - len(each.section.rows) + 1, 0),
                        "bars": [_bar(bar, starts_row=bar is row[0]) for bar in row],
                    }
                    for number, row in enumerate((*each.section.rows, *each.endings))
                ],
            }
            for each in fold(block.sections)
        ],
    }


def _bar(bar: ChartBar, *, starts_row: bool) -> View:
    return {
        "number": bar.bar,
        "over": with_dashes("  ".join((*bar.marks, *bar.notes))),
        "tokens": _tokens(bar, starts_row=starts_row),
        "words": [f"{each.verse}. {each.text}" if each.verse else each.text for each in bar.words],
    }


def _tokens(bar: ChartBar, *, starts_row: bool) -> list[View]:
    return [
        {
            "concert": concert,
            "shape": shape,
            "label": label,
            "sign": concert in (HELD, SLASH, SILENT),
            "slash": concert == SLASH,
        }
        for concert, shape, label in bar_tokens(bar, starts_row=starts_row)
    ]


def _bar_map(block: BarMap, look: Look) -> View:
    del look
    if block.strip is not None:
        return {"strip": Markup(strip_svg(block.strip)), "left_out": block.strip.left_out}
    return {
        "strip": "",
        "rows": [
            {
                "name": row.section or "outside the form",
                "svg": Markup(comp_row_svg(row, block.rows)),
            }
            for row in block.rows
            if row.cells
        ],
        "takes": [
            {"svg": Markup(key.swatch), "said": key.said, "label": key.label}
            for key in take_keys(block.rows)
        ],
        "marks": bar_map_marks(block.rows),
    }


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
        "columns": f"--wide:{picture_width(len(voicing.strings)) / 16:.2f}rem",
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


def _moves(block: Moves, look: Look) -> View:
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
    Chords: ("chords", _chords),
    Patterns: ("patterns", _patterns),
    Chart: ("chart", _chart),
    BarMap: ("bar_map", _bar_map),
    Diagram: ("one_diagram", _diagram),
    Tab: ("tab", _tab),
    ChordKey: ("chord_key", _chord_key),
    Study: ("study", _study),
    Moves: ("moves", _moves),
    RoadMap: ("road_map", _road_map),
    StageSongs: ("stage_songs", _stage_songs),
}
