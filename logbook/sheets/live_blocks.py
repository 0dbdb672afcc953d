"""The live sheet in reading order: which block says what. Nothing is worked out here."""

from __future__ import annotations

from logbook.records.log import Log
from logbook.sheets.blocks import (
    CAUTION,
    KEY,
    WRONG,
    Block,
    Chart,
    Chords,
    Facts,
    Heading,
    Items,
    Paragraph,
    Patterns,
    RoadMap,
    Table,
)
from logbook.sheets.chords import ChordCard
from logbook.sheets.live import LivePart, LivePlan, LiveSheet, live_sheet
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.player_blocks import CHART_KEY, CHART_KEY_SHAPES
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM

_CHART_KEY_WRITTEN = (
    "Upper line: what sounds. Lower line: the chart as it is {written}. · the chord before goes "
    "on, ╱ one beat."
)


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return a song's live sheet, ready to be drawn.

    Raises LogbookError where there is no such song, version, part or arrangement, and where the
    arrangement cannot be worked out.
    """
    data = live_sheet(
        log,
        wanted.song,
        wanted.version or None,
        wanted.part or None,
        wanted.arrangement or None,
    )
    return Sheet("live", data.song, data, live_blocks(data))


def live_blocks(sheet: LiveSheet) -> tuple[Block, ...]:
    """Return the blocks of a live sheet."""
    blocks: list[Block] = [Heading(1, sheet.song, "live")]
    if not sheet.plans:
        blocks.append(Paragraph("No version of this song is logged yet."))
    for number, plan in enumerate(sheet.plans):
        if number:
            blocks.append(Heading(2, f"{plan.version}, {plan.arrangement}"))
        blocks += _plan(plan, first=number == 0)
    return tuple(blocks)


def _plan(plan: LivePlan, *, first: bool) -> list[Block]:
    blocks: list[Block] = []
    if first:
        blocks.append(Paragraph(f"{plan.version}, {plan.arrangement}"))
    blocks.append(Facts(_top(plan), large=True))
    if plan.said:
        blocks.append(Paragraph(plan.said))
    blocks.append(Heading(2, "Road map", plan.length))
    if plan.road:
        blocks.append(RoadMap(plan.road))
    else:
        blocks.append(Paragraph("No form is logged for this version."))
    if plan.cues:
        blocks += [Heading(3, "Cues"), Items(plan.cues)]
    blocks += _differences(plan)
    for part in plan.parts:
        blocks += _part(part)
    return blocks


def _top(plan: LivePlan) -> tuple[tuple[str, str], ...]:
    """What must be read from the floor: key, tempo, count-in, and every player's capo."""
    rows = [
        ("key", plan.key or "not said"),
        ("tempo", "; ".join(plan.tempos) or "not said"),
        ("meter", "; ".join(plan.meters)),
        ("count-in", plan.count_in),
    ]
    for part in plan.parts:
        if part.capo_now:
            who = f"{part.name} ({part.player})" if part.player else part.name
            rows.append((who, f"{part.capo_now}, {part.tuning_now}"))
    return tuple(row for row in rows if row[1])


def _differences(plan: LivePlan) -> list[Block]:
    blocks: list[Block] = [Heading(3, "What differs from the record")]
    if plan.differences:
        blocks.append(
            Table(
                ("what", "on the record", "now"),
                tuple((e.about, e.recorded or "not said", e.now or "-") for e in plan.differences),
            )
        )
    else:
        blocks.append(Paragraph("Nothing: it is played as recorded."))
    remarks = [*plan.remarks]
    if plan.left_out:
        remarks.insert(0, f"not played: {', '.join(plan.left_out)}")
    if remarks:
        blocks.append(Items(tuple(remarks)))
    return blocks


def _part(part: LivePart) -> list[Block]:
    rig = part.rig
    who = ", ".join(filter(None, (part.player, part.instrument)))
    blocks: list[Block] = [Heading(2, part.name, who)]
    if rig.strings:
        large = (("capo", rig.capo), ("tuning", rig.tuning), ("shapes in", rig.shape_key))
        blocks += [
            Facts(tuple(row for row in large if row[1]), large=True),
            Paragraph(rig.counted),
        ]
    rows = (
        ("strings", " ".join(each.open_note for each in rig.strings)),
        ("hand", part.hand),
        ("technique", part.technique),
        *((f"bars {bars}" if bars else "technique", text) for bars, text in part.technique_notes),
        ("notes", part.said),
    )
    if any(text for _, text in rows):
        blocks.append(Facts(tuple(row for row in rows if row[1])))
    if part.unreadable:
        blocks.append(Items(tuple(f"cannot be read: {line}" for line in part.unreadable), WRONG))
    blocks += _chart(part)
    if part.chords:
        blocks += [Heading(3, "Shapes"), Chords(tuple(map(_on_stage, part.chords)))]
        if any(card.stretch_mm and card.stretch_mm >= WIDE_MM for card in part.chords):
            blocks.append(Paragraph(STRAIN_CAUTION, CAUTION))
    if part.patterns:
        blocks += [Heading(3, "Picking hand"), Patterns(part.patterns)]
    return blocks


def _on_stage(card: ChordCard) -> ChordCard:
    """A card with what can be read while playing: where the fingers go, not what sounds and why."""
    return card._replace(
        notes=(), degrees=(), guide_tones=(), may_ring=(), avoid=(), also=(), remark=""
    )


def _chart(part: LivePart) -> list[Block]:
    if not part.chart:
        return [Paragraph("No chart is logged for this part.")]
    with_shapes = any(card.shape and card.shape != card.concert for card in part.chords)
    key = CHART_KEY_SHAPES if with_shapes else CHART_KEY
    if part.written:
        with_shapes = True
        key = _CHART_KEY_WRITTEN.format(written=part.written.partition(": ")[0])
    names = [card.concert for card in part.chords]
    return [
        Heading(3, "Chart", part.written),
        Paragraph(key, KEY),
        Chart(part.chart, with_shapes, len(set(names)) < len(names)),
    ]
