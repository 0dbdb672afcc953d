"""Takes against the form and against each other: bars past its end, keepers that compete."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from logbook.checking.problem import MISSING, Problem, unreadable
from logbook.editing.takes import TakeResult, TakeSpan
from logbook.errors import LogbookError
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.songs import Song
from logbook.timing.bars import BarRange, parse_ranges

# A keeper is as it should be; a take that is not to be heard the rule on comps tells.
_TOLD_ELSEWHERE = (TakeResult.KEEPER, TakeResult.REJECT, TakeResult.FALSE_START)


def bars_in_form(log: Log, song: Song) -> Iterator[Problem]:
    """Yield takes, punch-ins, notes and overdubs that speak of bars past the form."""
    for place in parts_of(log, song):
        sections = place.form
        if not sections:
            continue
        end = max(section.bars.end for section in sections)
        for what, text in _said(place):
            try:
                past = [span for span in parse_ranges(text) if span.end > end]
            except LogbookError as error:
                yield unreadable("bars", f"{place.title}: {what}", error)
                continue
            if past:
                yield Problem(
                    "bars past the form",
                    f"{place.title}: {what}",
                    f"bars {past[0]} go on past bar {end.bar - 1}, where the form ends",
                    "what is not in the form is on no sheet",
                    "write bars of the form, or make the form longer: logbook form insert",
                )


def _said(place: PartView) -> Iterator[tuple[str, str]]:
    for take in place.part.takes:
        if take.bars:
            yield f"take {take.number}", take.bars
        for punch in take.punch_ins:
            yield f"take {take.number}, punch-in", punch.bars
    for note in place.part.technique_notes:
        if note.bars:
            yield f"note {note.text[:40]!r}", note.bars
    for overdub in place.part.overdubs:
        if overdub.bars:
            yield "overdub", overdub.bars
    for vote in place.part.votes:
        yield f"vote on take {vote.take}", vote.bars


def keepers(log: Log, song: Song) -> Iterator[Problem]:
    """Yield stretches with two keepers and no comp between them, and keepers that a comp misses."""
    for place in parts_of(log, song):
        try:
            takes, comp, whole = place.takes, place.comp, place.pieces
        except LogbookError:
            continue  # the rules on takes and comps say so
        kept = [take for take in takes if take.result is TakeResult.KEEPER and take.bars]
        pieces = tuple(piece for piece in whole if not piece.take.is_elsewhere)
        used = {piece.take.number for piece in pieces}
        if not whole:
            yield from _two_of_one(place, kept)
            continue
        idle = [take for take in kept if take.number not in used]
        for piece in pieces:
            same = [take for take in takes if take.number == piece.take.number]
            if not same or any(take.result in _TOLD_ELSEWHERE for take in same):
                continue
            better = [each for each in idle if each.bars and _covers(each.bars, piece.source)]
            if better:
                numbers = " and ".join(str(each.number) for each in better)
                result = same[-1].result.value if same[-1].result else "not rated"
                yield Problem(
                    "keeper unused",
                    f"{place.title}: {comp.name if comp else ''}, bars {piece.bars}",
                    f"they come from take {piece.take.number}, which is {result}, and take"
                    f" {numbers}, a keeper of these bars, goes unused",
                    "a keeper is what was meant to be heard",
                    f"use take {better[0].number} there, or re-rate the takes",
                )


def _two_of_one(place: PartView, kept: list[TakeSpan]) -> Iterator[Problem]:
    for first, second in combinations(kept, 2):
        assert first.bars is not None
        assert second.bars is not None
        start, end = max(first.bars.start, second.bars.start), min(first.bars.end, second.bars.end)
        if start < end:
            yield Problem(
                "two keepers",
                f"{place.title}: takes {first.number} and {second.number}",
                f"both are keepers of bars {BarRange(start, end)}, and no comp says which is heard",
                "only one take of a stretch is heard",
                f"re-rate one of them, or say it: logbook note 'comp t{second.number}'",
                MISSING,
            )


def _covers(outer: BarRange, inner: BarRange) -> bool:
    return outer.start <= inner.start and inner.end <= outer.end
