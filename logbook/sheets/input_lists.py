"""The input list of a session, as it is taped to the box."""

from __future__ import annotations

from logbook.records.input_lists import in_order, input_row, recorded_twice, taken_twice
from logbook.records.places import Session
from logbook.sheets.blocks import CAUTION, Block, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted

_HEADS = {
    "channel": "ch",
    "source": "source",
    "microphone": "microphone",
    "preamp": "preamp",
    "pad": "pad",
    "track": "track",
    "position": "position",
    "notes": "notes",
}


def build(subject: Session, wanted: Wanted) -> Sheet:
    """Return a session's input list, ready to be drawn, without the columns nothing stands in."""
    del wanted
    inputs = in_order(subject.inputs)
    rows = [input_row(each) for each in inputs]
    title = f"{subject.name}: input list"
    blocks: list[Block] = [
        Heading(2, title, ", ".join(filter(None, (subject.date, subject.place))), quiet=True)
    ]
    used = [key for key in _HEADS if key in ("channel", "source") or any(row[key] for row in rows)]
    if not rows:
        blocks.append(Paragraph("no inputs yet"))
    else:
        head = tuple(_HEADS[key] for key in used)
        blocks.append(Table(head, tuple(tuple(row[key] for key in used) for row in rows)))
    twice = [
        f"channel {channel} is taken twice: {first.source} and {second.source}"
        for first, second, channel in taken_twice(inputs)
    ]
    twice += [
        f"track {first.track} is recorded twice: {first.source} and {second.source}"
        for first, second in recorded_twice(inputs)
    ]
    if twice:
        blocks.append(Items(tuple(twice), CAUTION))
    table = (tuple(_HEADS), *(tuple(row[key] for key in _HEADS) for row in rows))
    data = {"session": subject.name, "date": subject.date, "inputs": rows}
    return Sheet("input list", title, data, tuple(blocks), table)
