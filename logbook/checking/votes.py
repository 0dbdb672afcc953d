"""Votes against the takes they are about."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.records.log import Log
from logbook.records.part_view import parts_of
from logbook.records.songs import Song
from logbook.records.voted import faulty_votes


def votes(log: Log, song: Song) -> Iterator[Problem]:
    """Yield votes for takes that are not there, or for bars their take does not cover."""
    for place in parts_of(log, song):
        if not place.part.votes:
            continue
        try:
            faults = faulty_votes(place)
        except LogbookError as error:
            yield unreadable("votes", place.title, error)
            continue
        for vote, why in faults:
            who = f"{vote.person}'s vote" if vote.person else "the vote"
            yield Problem(
                "votes",
                f"{place.title}: {who} on bars {vote.bars}",
                f"it is for take {vote.take}, and {why}",
                "a vote counts only for what was recorded",
                "correct its take or bars: logbook vote edit, or take it out",
            )
