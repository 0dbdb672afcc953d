"""The chart of a part on a page of its own: what to set before the first bar, and the bars.

What else there is to know of the part is the player's sheet's.
"""

from __future__ import annotations

from logbook.records.log import Log
from logbook.sheets.blocks import KEY, Block, Chart, Heading, Items, Paragraph
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.melodies import MELODY_KEY
from logbook.sheets.player import PartSheet, VersionSheet, player_sheet
from logbook.sheets.player_blocks import at_a_glance, chart_blocks


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return the charts of a song, a part to a page, ready to be drawn.

    Raises LogbookError where the log has no such song, version or part.
    """
    data = player_sheet(log, wanted.song, wanted.version or None, wanted.part or None)
    blocks: list[Block] = [Heading(1, data.song, "chart")]
    several = len(data.versions) > 1
    for version in data.versions:
        for part in version.parts:
            if part.chart or wanted.part:
                blocks += _part(part, version, several=several)
    if len(blocks) == 1:
        blocks.append(Paragraph("No chart is logged for this song."))
    return Sheet("chart", data.song, data, tuple(blocks))


def _part(part: PartSheet, version: VersionSheet, *, several: bool) -> list[Block]:
    head = version.head
    who = ", ".join(filter(None, (head.name if several else "", part.player)))
    blocks: list[Block] = [
        Heading(2, part.name, who, of_part=True, of_version=head.name),
        Paragraph(at_a_glance(part.rig, head)),
    ]
    if part.unreadable:
        blocks.append(Items(tuple(f"cannot be read: {line}" for line in part.unreadable)))
    if not part.chart:
        return [*blocks, Paragraph("No chart is logged for this part.")]
    key = [Paragraph(MELODY_KEY, KEY)] if part.melody else []
    return blocks + [
        each._replace(alone=True) if isinstance(each, Chart) else each
        for each in (*chart_blocks(part)[1:], *key)
    ]
