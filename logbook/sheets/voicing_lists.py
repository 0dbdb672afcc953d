"""Many voicings, a line about each, and what moves from each to the next."""

from __future__ import annotations

from typing import NamedTuple

from logbook.sheets.blocks import ANSWER_LABELS, Block, Facts, Table
from logbook.sheets.finger_ways import change_to_dict, change_to_line, lines_to_dict, voice_leading
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.voicings import to_dict
from logbook.strings.moves import section_changes
from logbook.strings.voicing import SoundingVoicing


class AskedVoicings(NamedTuple):
    """Voicings with the numbers of the lines they were asked on; `moves` adds the changes."""

    voicings: tuple[tuple[int, SoundingVoicing], ...]
    moves: bool = False


def build(subject: AskedVoicings, wanted: Wanted) -> Sheet:
    """Return a line about each voicing, ready to be drawn."""
    del wanted
    voicings = [voicing for _, voicing in subject.voicings]
    head = ("frets", "sounds", "shape", "notes", "written name")
    rows = tuple(
        (
            each.line.text,
            each.concert[0].symbol,
            each.shape_name if each.capos else "",
            " ".join(each.notes),
            each.verdict.sentence if each.verdict else "",
        )
        for each in voicings
    )
    data = {"voicings": [{"line": at, **to_dict(each)} for at, each in subject.voicings]}
    blocks: list[Block] = [Table(head, rows)]
    if subject.moves and voicings:
        changes = section_changes(voicings)
        data["changes"] = [change_to_dict(change) for change in changes]
        data["lines"] = [lines_to_dict(voicings)]
        blocks += move_blocks(voicings)
    return Sheet("chords", "Chords", data, tuple(blocks), (head, *rows))


def move_blocks(voicings: list[SoundingVoicing]) -> list[Block]:
    """What moves from each voicing to the next, and the lines on top and of the guide tones."""
    changes = section_changes(voicings)
    rows = tuple(
        (f"to {voicing.chord}:", change_to_line(change))
        for voicing, change in zip(voicings[1:], changes, strict=True)
    )
    return [*([Facts(rows, column=ANSWER_LABELS)] if rows else []),
            Facts(voice_leading(voicings), column=ANSWER_LABELS)]  # fmt: skip
