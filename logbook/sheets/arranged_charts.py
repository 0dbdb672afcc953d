"""The charts and voicings of an arrangement's parts, each player's in what they read.

The chart is the one every sheet has; a transposing player's written names stand in its lower line.
"""

from __future__ import annotations

from contextlib import suppress

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.parts import PartPlan
from logbook.arranging.performance import readable_positions
from logbook.arranging.pitched import sounding_notes
from logbook.arranging.transposing import (
    Interval,
    chords_of,
    part_interval,
    written_name,
    written_note,
)
from logbook.errors import LogbookError
from logbook.sheets.blocks import Block, Chart, Heading, Paragraph, Table
from logbook.sheets.charts import ChartSection
from logbook.sheets.heads import readable_map
from logbook.sheets.live import played_chart
from logbook.sheets.melodies import melody_blocks
from logbook.sheets.player import part_sheet
from logbook.strings.sounding import played_midi
from logbook.theory.compass import moved_note


def chart_blocks(arranged: ArrangedVersion) -> list[Block]:
    """Return the chart and the voicings of every part that is played and has any."""
    blocks: list[Block] = []
    shown: dict[tuple[ChartSection, ...], str] = {}
    tempo_map, _ = readable_map(arranged.version)
    for plan in arranged.parts:
        if plan.part is None:
            continue
        sheet = part_sheet(arranged.place(plan.part), tempo_map)
        said, chart = played_chart(plan, arranged, tempo_map, sheet.chart)
        if not any(not section.tacet for section in chart):
            if sheet.melody:
                blocks += [Heading(3, f"Melody of {plan.name}"), *melody_blocks(sheet.melody)[1:]]
            continue
        interval = part_interval(arranged, plan)
        written = f", written {interval.name}" if interval.semitones % 12 else ""
        source = chords_of(arranged, plan).name
        borrowed = f": the chords of {source}" if source != plan.name else ""
        same = shown.setdefault(chart, plan.name)
        if same != plan.name:
            blocks.append(Heading(3, f"Chart of {plan.name}{written}: the same as that of {same}"))
            blocks += [*_voicings(arranged, plan), *melody_blocks(sheet.melody)]
            continue
        with_shapes = bool(said) or any(c.shape and c.shape != c.concert for c in sheet.chords)
        names = [card.concert for card in sheet.chords]
        blocks += [
            Heading(3, f"Chart of {plan.name}{written}{borrowed}"),
            *([Paragraph("Upper line: what sounds. Lower line: as written.")] if written else []),
            Chart(chart, with_shapes, len(set(names)) < len(names)),
            *_voicings(arranged, plan),
            *melody_blocks(sheet.melody),
        ]
    return blocks


def _voicings(arranged: ArrangedVersion, plan: PartPlan) -> list[Block]:
    """The voicings of a part: frets, fingers and notes, written ones where they differ.

    An octave is no difference here: the notes of guitar and bass are told as they sound.
    """
    if plan.part is None or not plan.part.voicings:
        return []
    interval = part_interval(arranged, plan)
    if plan.after is None:
        return _notes(arranged, plan, interval)
    if interval.semitones % 12 == 0:
        interval = interval._replace(semitones=0)
    positions = readable_positions(plan.part, plan.after.tuning)
    rows = []
    for voicing in plan.part.voicings:
        position = positions.get(voicing.label)
        midi = played_midi(position, plan.after.tuning) if position else ()
        name = written_name(voicing.name or voicing.label, arranged.key, interval)
        rows.append(
            (
                name,
                voicing.frets,
                voicing.fingers if any(each.isalnum() for each in voicing.fingers) else "",
                " ".join(written_note(note, arranged.key, interval, name) for note in midi),
            )
        )
    notes = "notes as written" if interval.semitones else "notes as they sound"
    return [Table(("voicing", f"frets from the {plan.part.counted}", "fingers", notes),
                  tuple(rows))]  # fmt: skip


def _notes(arranged: ArrangedVersion, plan: PartPlan, interval: Interval) -> list[Block]:
    """The voicings of a part without frets: their notes, as they sound and as they are written."""
    assert plan.part is not None
    rows = []
    for voicing in plan.part.voicings:
        with suppress(LogbookError):
            names = sounding_notes(arranged.log, plan.part, voicing)
            if names:
                written = [moved_note(each, interval.semitones) for each in names]
                name = voicing.name or voicing.label
                row = (name, " ".join(names))
                rows.append(
                    (*row, written_name(name, arranged.key, interval), " ".join(written))
                    if interval.semitones
                    else row
                )
    if not rows:
        return []
    columns: tuple[str, ...] = ("voicing", "notes as they sound")
    if interval.semitones:
        columns = (*columns, "written", "notes as written")
    return [Table(columns, tuple(rows))]
