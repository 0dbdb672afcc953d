"""The live sheet in reading order: which block says what. Nothing is worked out here."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.arranging.difference import Difference
from logbook.records.log import Log
from logbook.sheets.blocks import (
    KEY,
    MOST_ON_TOP,
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
)
from logbook.sheets.chords import ChordCard
from logbook.sheets.live import AS_RECORDED, LivePart, LivePlan, LiveSheet, live_sheet, part_of
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.melodies import melody_blocks
from logbook.sheets.player_blocks import CHART_KEY, CHART_KEY_SHAPES
from logbook.sheets.signs import tempo_in_print
from logbook.sheets.tabs import is_single_notes
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM

_VOICING = "voicing "
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
    """Return the blocks of a live sheet: a page for each player, what changed last."""
    blocks: list[Block] = [Heading(1, sheet.song, "live")]
    if not sheet.plans:
        blocks.append(Paragraph("No version of this song is logged yet."))
    for number, plan in enumerate(sheet.plans):
        if number:
            blocks.append(Heading(2, f"{plan.version}, {plan.arrangement}"))
        blocks += _plan(plan)
    return tuple(blocks)


def _plan(plan: LivePlan) -> list[Block]:
    blocks: list[Block] = [Paragraph(f"{plan.version}, {plan.arrangement}")]
    if plan.said:
        blocks.append(Paragraph(plan.said))
    for part in plan.parts:
        blocks += _part(part, plan)
    if not plan.parts:
        blocks += [Facts(_top(plan), large=True), *_road(plan), *_changes(plan, "", drawn=False)]
    return blocks


def _top(plan: LivePlan) -> tuple[tuple[str, str], ...]:
    """What must be read from the floor, whoever plays."""
    rows = [
        ("key", plan.key or "not said"),
        ("tempo", plan.tempos[0] if plan.tempos else "not said"),
        ("meter", plan.meters[0] if plan.meters else ""),
        ("count-in", plan.count_in),
    ]
    return tuple(row for row in rows if row[1])


def _part(part: LivePart, plan: LivePlan) -> list[Block]:
    """One player's page."""
    rig = part.rig
    who = ", ".join(filter(None, (part.player, part.instrument)))
    own = [("capo", _capo(part.capo_now)), ("tuning", part.tuning_now if rig.strings else "")]
    if rig.shape_key and rig.shape_key != rig.concert_key:
        own.append(("shapes in", rig.shape_key))
    top = (*_top(plan), *(row for row in own if row[1]))
    blocks: list[Block] = [
        Heading(2, part.name, who, of_part=True, of_version=plan.version),
        Facts(top, large=True),
    ]
    blocks += _chart(part)
    blocks += melody_blocks(part.melody)
    blocks += _road(plan)
    rows = (
        ("hand", part.hand),
        ("technique", part.technique),
        *(("technique", text) for bars, text in part.technique_notes if not bars),
        ("frets", rig.counted if rig.capos else ""),
        ("notes", part.said),
    )
    if any(text for _, text in rows):
        blocks.append(Facts(tuple(row for row in rows if row[1])))
    if part.patterns:
        blocks.append(Patterns(part.patterns))
    if part.unreadable:
        blocks.append(Items(tuple(f"cannot be read: {line}" for line in part.unreadable), WRONG))
    if any(card.stretch_mm and card.stretch_mm >= WIDE_MM for card in part.chords):
        blocks.append(Paragraph(STRAIN_CAUTION))
    drawn = bool(part.chords) and not is_single_notes(part.chords)
    return [*blocks, *_changes(plan, part.name, drawn=drawn)]


def _capo(said: str) -> str:
    """A capo beside a label that says so: "5", "2 on strings 3-5", "none"."""
    return "none" if said == "no capo" else said.removeprefix("capo ")


def _road(plan: LivePlan) -> list[Block]:
    if not plan.road:
        return [Paragraph("No form is logged for this version.")]
    blocks: list[Block] = [Heading(3, "Road map", plan.length), RoadMap(plan.road)]
    if plan.cues:
        blocks.append(Items(tuple(f"Cue, {cue}" for cue in plan.cues)))
    return blocks


def _changes(plan: LivePlan, part: str, *, drawn: bool) -> list[Block]:
    """What changed from the recording, of the song and of this part; `drawn` if it has shapes."""
    names = {each.name for each in plan.parts} | {*plan.left_out}
    found = [each for each in plan.differences if part_of(each, names) in ("", part)]
    rows = _in_short(part, found) if drawn else [_row(part, each) for each in found]
    if plan.left_out:
        rows.append(("not played", ", ".join(plan.left_out)))
    rows += (("remark", each) for each in plan.remarks)
    if not rows:  # the head says "as recorded" already, where no arrangement is kept
        as_recorded = plan.arrangement == AS_RECORDED
        return [] if as_recorded else [Paragraph("Unchanged from the recording.")]
    return [Heading(3, "Changes from the recording"), Facts(tuple(rows))]


def _row(part: str, change: Difference) -> tuple[str, str]:
    return change.about.removeprefix(f"{part}: "), _now(change)


def _in_short(part: str, found: Sequence[Difference]) -> list[tuple[str, str]]:
    """The changes of a part whose shapes stand above: of its voicings only which are new."""
    rows: list[tuple[str, str]] = []
    hands: dict[str, list[str]] = {}
    for change in found:
        label, said = change.about.removeprefix(f"{part}: "), change.now or ""
        if label.startswith(_VOICING) and ": " in said:
            names = f"{label.removeprefix(_VOICING)} → {said.rpartition(': ')[0]}"
            hands.setdefault(said.rpartition(", ")[2], []).append(names)
        else:
            rows.append((label, _now(change)))
    said_of = (f"{', '.join(names)}: {state}" for state, names in hands.items())
    return [*rows, *([("voicings", "; ".join(said_of))] if hands else [])]


def _now(change: Difference) -> str:
    said = (change.recorded or "not said", change.now or "-")
    if change.about == "tempo":
        said = (tempo_in_print(said[0]), tempo_in_print(said[1]))
    return " → ".join(said)


def _chart(part: LivePart) -> list[Block]:
    """The chart; of a part that plays chords their shapes stand on top of it."""
    if not part.chart:
        if part.chords:
            return [Chords(part.chords)]
        return [Paragraph("No chart is logged for this part.")]
    with_shapes = any(card.shape and card.shape != card.concert for card in part.chords)
    key = CHART_KEY_SHAPES if with_shapes else CHART_KEY
    if part.written:
        with_shapes = True
        key = _CHART_KEY_WRITTEN.format(written=part.written.partition(": ")[0])
    names = [card.concert for card in part.chords]
    cards = () if is_single_notes(part.chords) else part.chords
    on_top = cards if len(cards) <= MOST_ON_TOP else ()
    chart = Chart(part.chart, with_shapes, len(set(names)) < len(names), on_top, stage=True)
    shapes = [Chords(tuple(map(_on_stage, cards)), charted=bool(on_top))] if cards else []
    return [Heading(3, "Chart", part.written), chart, Paragraph(key, KEY), *shapes]


def _on_stage(card: ChordCard) -> ChordCard:
    """A card with what can be read while playing: where the fingers go, not what sounds and why."""
    return card._replace(
        notes=(), degrees=(), guide_tones=(), may_ring=(), avoid=(), also=(), remark=""
    )
