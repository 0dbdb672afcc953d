"""The lesson sheet in reading order: which block says what. Nothing is worked out here."""

from __future__ import annotations

from logbook.records.log import Log
from logbook.sheets.blocks import (
    KEY,
    MOST_ON_TOP,
    WRONG,
    Block,
    Chart,
    ChordKey,
    Facts,
    HandMove,
    Heading,
    Items,
    NeckMoves,
    Paragraph,
    Patterns,
    Study,
    Table,
)
from logbook.sheets.chord_words import under_name
from logbook.sheets.lesson import (
    LessonPart,
    LessonSheet,
    LessonStep,
    LessonVersion,
    lesson_sheet,
)
from logbook.sheets.lesson_moves import changes_of, hardest
from logbook.sheets.lines import TIED
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.player_blocks import CHART_KEY, CHART_KEY_SHAPES, at_a_glance
from logbook.sheets.signs import bars_label


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return a song's lesson sheet, ready to be drawn.

    Raises LogbookError where the log has no such song, version or part.
    """
    data = lesson_sheet(log, wanted.song, wanted.version or None, wanted.part or None)
    return Sheet("lesson", data.song, data, lesson_blocks(data))


def lesson_blocks(sheet: LessonSheet) -> tuple[Block, ...]:
    """Return the blocks of a lesson sheet: the chart, what to practise, then each chord."""
    blocks: list[Block] = [Heading(1, sheet.song, "lesson")]
    if not any(version.parts for version in sheet.versions):
        blocks.append(
            Paragraph("No part of this song has chords logged, so there is none to learn.")
        )
    several = len(sheet.versions) > 1
    for version in sheet.versions:
        for part in version.parts:
            blocks += _part(part, version, several=several)
    blocks.append(Paragraph(sheet.caution))
    return tuple(blocks)


def _tempos(version: LessonVersion) -> list[Block]:
    if not version.paces:
        return []
    return [
        Heading(3, "Practice tempos", "go up a line when it is easy, not before"),
        Table(
            ("pace", "tempo", "one bar", "whole song"),
            tuple((p.share, p.tempo, p.bar, p.whole or "-") for p in version.paces),
        ),
    ]


def _unreadable(lines: tuple[str, ...]) -> Items:
    return Items(tuple(f"cannot be read: {line}" for line in lines), WRONG)


def _part(part: LessonPart, version: LessonVersion, *, several: bool) -> list[Block]:
    head = version.head
    who = ", ".join(filter(None, (head.name if several else "", part.player)))
    blocks: list[Block] = [
        Heading(2, part.name, who, of_part=True, of_version=head.name),
        Paragraph(at_a_glance(part.rig, head)),
    ]
    if head.unreadable or part.unreadable:
        blocks.append(_unreadable((*head.unreadable, *part.unreadable)))
    blocks += _chart(part)
    changes = changes_of(part.sections)
    blocks += _loops(changes)
    blocks += _tempos(version)
    if changes:
        blocks += [
            Heading(3, "The changes", "which finger stays, slides, lifts and lands"),
            NeckMoves("", "", changes, ()),
        ]
    cards = tuple(step.card for step in part.steps)
    blocks += [
        Heading(3, "The chords, one at a time", "in the order they come"),
        ChordKey(cards),
    ]
    pattern = ""
    for step in part.steps:
        blocks.append(_step(step, pattern))
        pattern = step.pattern.label if step.pattern else pattern
    blocks += _lines(part)
    blocks += _other_ways(part.steps)
    rows = (
        ("hand", part.hand),
        ("technique", part.technique),
        *((bars_label(bars) if bars else "technique", text) for bars, text in part.technique_notes),
        ("notes", part.said),
    )
    if any(text for _, text in rows):
        blocks += [Heading(3, "To know"), Facts(tuple(row for row in rows if row[1]))]
    return blocks


def _loops(changes: tuple[HandMove, ...]) -> list[Block]:
    """Two changes to go round and round."""
    loops = hardest(changes)
    if not loops:
        return []
    said = tuple(
        f"{bars_label(loop.move.loop).capitalize()}: {loop.move.before.concert} to "
        f"{loop.move.after.concert}, {loop.why}. Change on beat {loop.move.beat}, there and back, "
        "until eight in a row are clean."
        for loop in loops
    )
    heading = "Two loops to practise" if len(loops) == 2 else "A loop to practise"
    return [Heading(3, heading), Items(said, loops=tuple(loop.move.loop for loop in loops))]


def _lines(part: LessonPart) -> list[Block]:
    """The notes that sing through each section."""
    rows = [
        (section.name if number == 0 else "", f"{label}: {text}")
        for section in part.sections
        for number, (label, text) in enumerate(section.lines[1:])
    ]
    return [Heading(3, "Lines to hear"), Facts(tuple(rows))] if rows else []


def _step(step: LessonStep, pattern_before: str) -> Study:
    """One chord; its pattern is drawn where it is new or meets other strings than a full strum."""
    card = step.card
    rows = [
        *_rows("fingers", step.fingers),
        ("pick", step.pick),
        *_rows("mute", step.mute),
        *_rows("let ring", step.ring),
        ("guide tones", step.guide_tones),
        *_rows("ornament", step.ornaments),
        ("notes", "; ".join(filter(None, (card.remark, card.said, card.problem)))),
    ]
    beside: list[Facts | Paragraph | Items | Patterns] = []
    if step.pattern is not None and step.pattern.label != pattern_before:
        beside.append(Patterns((step.pattern,)))
    beside.append(Facts(tuple(row for row in rows if row[1])))
    names = ", ".join((*under_name(card), step.numeral) if step.numeral else under_name(card))
    stands = step.first
    if step.bars and step.bars not in step.first.split(",")[0]:
        stands += f"; in bars {step.bars}"
    aside = "; ".join(filter(None, (names, stands)))
    return Study(f"{step.number}. {card.concert}", aside, card, tuple(beside))


def _rows(label: str, texts: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """One label for several rows."""
    return tuple((label if number == 0 else "", text) for number, text in enumerate(texts))


def _other_ways(steps: tuple[LessonStep, ...]) -> list[Block]:
    """Other ways to finger the chords, in one table."""
    ways = [(step.card.concert, way) for step in steps for way in step.other_ways]
    if not ways:
        return []
    with_capo = any(way.from_capo for _, way in ways)
    table = Table(
        ("chord", f"from the {'capo' if with_capo else 'nut'}", "fingers", "mm", "notes"),
        tuple(
            (
                chord,
                _tied(way.from_capo or way.from_nut),
                _tied(way.fingers) or "-",
                f"{way.reach_mm:.0f}",
                " ".join(way.notes),
            )
            for chord, way in ways
        ),
        "Frets, suggested fingers, reach in millimetres",
    )
    return [Heading(3, "Other ways to finger them"), table]


def _tied(frets: str) -> str:
    """A fret line that is never broken."""
    return frets.replace(" ", TIED)


def _chart(part: LessonPart) -> list[Block]:
    if not part.chart:
        return []
    cards = [step.card for step in part.steps]
    with_shapes = any(card.shape and card.shape != card.concert for card in cards)
    names = [card.concert for card in cards]
    return [
        Heading(3, "Chart"),
        Chart(
            part.chart,
            with_shapes,
            len(set(names)) < len(names),
            tuple(cards) if len(cards) <= MOST_ON_TOP else (),
        ),
        Paragraph(CHART_KEY_SHAPES if with_shapes else CHART_KEY, KEY),
    ]
