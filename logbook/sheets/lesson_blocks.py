"""The lesson sheet in reading order: which block says what. Nothing is worked out here."""

from __future__ import annotations

from logbook.records.log import Log
from logbook.sheets.blocks import (
    CAUTION,
    KEY,
    WRONG,
    Block,
    Chart,
    ChordKey,
    Facts,
    Heading,
    Items,
    Moves,
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
    WayLine,
    lesson_sheet,
)
from logbook.sheets.lines import TIED
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.player_blocks import CHART_KEY, CHART_KEY_SHAPES


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return a song's lesson sheet, ready to be drawn.

    Raises LogbookError where the log has no such song, version or part.
    """
    data = lesson_sheet(log, wanted.song, wanted.version or None, wanted.part or None)
    return Sheet("lesson", data.song, data, lesson_blocks(data))


def lesson_blocks(sheet: LessonSheet) -> tuple[Block, ...]:
    """Return the blocks of a lesson sheet."""
    blocks: list[Block] = [Heading(1, sheet.song, "lesson"), Paragraph(sheet.caution, CAUTION)]
    if not any(version.parts for version in sheet.versions):
        blocks.append(
            Paragraph("No part of this song has chords logged, so there is none to learn.")
        )
    for version in sheet.versions:
        if version.parts:
            blocks += _version(version)
    return tuple(blocks)


def _version(version: LessonVersion) -> list[Block]:
    head = version.head
    rows = (
        ("key", f"{head.key} (concert)" if head.key else "not said"),
        ("meter", "; ".join((*head.meters, *filter(None, (head.pickup,))))),
        ("form", "; ".join(f"{each.name} {each.bars}" for each in head.form) or "not said"),
    )
    blocks: list[Block] = [
        Heading(2, head.name, f"{head.bars} bars" if head.bars else ""),
        Facts(tuple(row for row in rows if row[1])),
    ]
    if head.unreadable:
        blocks.append(_unreadable(head.unreadable))
    if version.paces:
        blocks += [
            Heading(3, "Practice tempos", "go up a line when it is easy, not before"),
            Table(
                ("pace", "tempo", "one bar", "the whole form"),
                tuple((p.share, p.tempo, p.bar, p.whole or "-") for p in version.paces),
            ),
        ]
    for part in version.parts:
        blocks += _part(part)
    return blocks


def _unreadable(lines: tuple[str, ...]) -> Items:
    return Items(tuple(f"cannot be read: {line}" for line in lines), WRONG)


def _part(part: LessonPart) -> list[Block]:
    rig = part.rig
    blocks: list[Block] = [Heading(2, part.name, part.player)]
    rows = (
        ("tuning", rig.tuning),
        ("capo", rig.capo if rig.strings else ""),
        ("keys", f"sounds in {rig.concert_key}" if rig.concert_key else ""),
        ("shapes", f"{rig.shape_key} shapes under the hand" if rig.shape_key else ""),
        ("hand", part.hand),
        ("technique", part.technique),
        *((f"bars {bars}" if bars else "technique", text) for bars, text in part.technique_notes),
        ("notes", part.said),
    )
    if rig.strings:
        blocks.append(Paragraph(rig.counted))
    blocks.append(Facts(tuple(row for row in rows if row[1])))
    if part.unreadable:
        blocks.append(_unreadable(part.unreadable))
    cards = tuple(step.card for step in part.steps)
    blocks += [
        Heading(3, "The chords, one at a time", "in the order they come"),
        ChordKey(cards),
    ]
    pattern = ""
    for step in part.steps:
        blocks += _step(step, pattern)
        pattern = step.pattern.label if step.pattern else pattern
    blocks += _sections(part)
    return blocks + _chart(part)


def _step(step: LessonStep, pattern_before: str) -> list[Block]:
    """One chord; its pattern is drawn where it is new or meets other strings than a full strum."""
    card = step.card
    rows = [
        *_rows("fingers", step.fingers),
        ("pick", step.pick),
        *_rows("mute", step.mute),
        *_rows("let ring", step.ring),
        ("guide tones", step.guide_tones),
        *_rows("ornament", step.ornaments),
        *((f"to {move.after.concert}", f"{move.said} ({move.at})") for move in step.moves),
        ("notes", "; ".join(filter(None, (card.remark, card.said, card.problem)))),
    ]
    beside: list[Facts | Paragraph | Items | Patterns] = []
    if step.pattern is not None:
        beside.append(Patterns((step.pattern,)))
    beside.append(Facts(tuple(row for row in rows if row[1])))
    del pattern_before
    names = ", ".join((*under_name(card), step.numeral) if step.numeral else under_name(card))
    stands = step.first
    if step.bars and step.bars not in step.first.split(",")[0]:
        stands += f"; in bars {step.bars}"
    blocks: list[Block] = [
        Study(
            f"{step.number}. {card.concert}", "; ".join(filter(None, (names, stands))), card,
            tuple(beside),
        )
    ]  # fmt: skip
    if step.other_ways:
        blocks.append(_ways(step.other_ways, card.concert))
    return blocks


def _rows(label: str, texts: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """One label for several rows."""
    return tuple((label if number == 0 else "", text) for number, text in enumerate(texts))


def _ways(ways: tuple[WayLine, ...], chord: str) -> Table:
    with_capo = any(way.from_capo for way in ways)
    return Table(
        ("nut", *(("capo",) if with_capo else ()), "fingers", "reach", "notes"),
        tuple(
            (
                _tied(way.from_nut),
                *((_tied(way.from_capo),) if with_capo else ()),
                _tied(way.fingers) or "-",
                f"{way.reach_mm:.0f} mm",
                " ".join(way.notes),
            )
            for way in ways
        ),
        f"Other ways to finger {chord} (fingers are proposed)",
    )


def _tied(frets: str) -> str:
    """A fret line that is never broken."""
    return frets.replace(" ", TIED)


def _sections(part: LessonPart) -> list[Block]:
    if not part.sections:
        return []
    return [
        Heading(3, "Section by section"),
        *(Moves(each.name, each.bars, each.moves, each.lines) for each in part.sections),
    ]


def _chart(part: LessonPart) -> list[Block]:
    if not part.chart:
        return []
    cards = [step.card for step in part.steps]
    with_shapes = any(card.shape and card.shape != card.concert for card in cards)
    names = [card.concert for card in cards]
    return [
        Heading(3, "Chart"),
        Paragraph(CHART_KEY_SHAPES if with_shapes else CHART_KEY, KEY),
        Chart(part.chart, with_shapes, len(set(names)) < len(names)),
    ]
