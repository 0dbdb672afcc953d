"""The take list of a part as a session assistant would write it.

One line a take: its number, result, bars, length, punch-ins, where the comp uses it, and the
note. A keeper is marked with ">" before its number, so the list reads without colour.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.editing.side_by_side import take_facts
from logbook.editing.survey import CompSurvey
from logbook.editing.takes import TakeResult, TakeSpan
from logbook.editing.words import take_said
from logbook.timing.bars import ranges_text
from logbook.timing.tempo_map import TempoMap

TAKE_LIST_HEADER = ("", "take", "result", "bars", "began", "length", "punched", "used at", "note")


def take_list_rows(
    takes: Sequence[TakeSpan], tempo_map: TempoMap, survey: CompSurvey | None = None
) -> list[tuple[str, ...]]:
    """The rows of the take list, the header first; `survey` is that of the part's comp.

    Where a part was recorded in several sessions, every take is told with its own.

    Raises LogbookError when a take's bars are not in the map.
    """
    rows: list[tuple[str, ...]] = [TAKE_LIST_HEADER]
    sessions = {take.session for take in takes}
    for take in takes:
        facts = take_facts(take, tempo_map, survey)
        rows.append(
            (
                ">" if take.result is TakeResult.KEEPER else "",
                f"{take.number} of {take.session}"
                if len(sessions) > 1 and take.session
                else take_said(take.id, takes),
                take.result.value if take.result else "",
                str(take.bars) if take.bars else "",
                take.clock,
                length_text(take),
                ranges_text([each.bars for each in take.punch_ins]),
                ranges_text(facts.used_at),
                take.note,
            )
        )
    return rows


def length_text(take: TakeSpan) -> str:
    """The length of a take's audio in minutes and seconds, "3:07.4"; "" when not known."""
    if take.file_seconds is None:
        return ""
    tenths = round(take.file_seconds * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"
