"""Votes on takes, and the comp they come to: the best-voted take for each stretch, with few joins.

Conventions. A ballot is one person's word on one take over a stretch of bars, in points. Where a
person said something of a section and something else of a line in it, the line counts there.
Points of all people are added; silence is 0, so that a take nobody spoke of comes before one that
was voted down. Positions are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from logbook.editing.takes import TakeId, TakeResult, TakeSpan, take_of
from logbook.timing.bars import BarPoint, BarRange

RATINGS = {"best": 3, "good": 2, "fair": 1, "poor": -1}
"""The words a vote may say, with their points."""

# Of takes that are voted alike, what came of them decides.
_RANKS = {TakeResult.KEEPER: 0, TakeResult.COMPLETE: 1, None: 2, TakeResult.INCOMPLETE: 3}
_UNHEARD = (TakeResult.REJECT, TakeResult.FALSE_START)


class Ballot(NamedTuple):
    """What one person (empty: nobody in particular) thinks of a take over some bars."""

    person: str
    bars: BarRange
    take: TakeId
    points: int


class DraftPiece(NamedTuple):
    """A stretch of the drafted comp; `points` are those of its take, 0 where nobody voted."""

    bars: BarRange
    take: TakeId
    points: int
    voted: bool


@dataclass(frozen=True, kw_only=True)
class DraftedComp:
    """A comp as the votes have it.

    `stretches` part it wherever votes begin or end, `pieces` only where the take changes; `gaps`
    are bars that no take covers.
    """

    pieces: tuple[BarRange, ...]
    takes: tuple[TakeId, ...]
    stretches: tuple[DraftPiece, ...]
    gaps: tuple[BarRange, ...]

    @property
    def unvoted(self) -> tuple[BarRange, ...]:
        """The bars on which nobody voted, where a take stands all the same."""
        return _joined([each.bars for each in self.stretches if not each.voted])


def points_on(
    ballots: Iterable[Ballot], bars: BarRange, takes: Sequence[TakeSpan]
) -> dict[TakeId, int]:
    """Return the points of each take over bars that no ballot begins or ends in.

    Ballots for a take that is not there count for nothing.
    """
    said: dict[tuple[str, TakeId], tuple[tuple[int, int], int]] = {}
    for number, each in enumerate(ballots):
        take = take_of(takes, each.take)
        if take is None or not _covers(each.bars, bars):
            continue
        # The narrower word counts, and of two alike the later one.
        weight = (-_breadth(each.bars), number)
        before = said.get((each.person, take.id))
        if before is None or weight > before[0]:
            said[each.person, take.id] = (weight, each.points)
    found: dict[TakeId, int] = {}
    for (_, take_id), (_, points) in said.items():
        found[take_id] = found.get(take_id, 0) + points
    return found


def _breadth(bars: BarRange) -> int:
    length = bars.end.bar - bars.start.bar + (bars.end.beat - bars.start.beat) / 64
    return int(length * 4096)


def draft_comp(
    takes: Sequence[TakeSpan],
    ballots: Sequence[Ballot],
    whole: BarRange,
    bounds: Iterable[BarPoint] = (),
) -> DraftedComp:
    """Draft a comp of `whole` from votes.

    For each stretch one of its best-voted takes that cover it is chosen, so that as few joins as
    can be remain, and these rather at `bounds` (where sections begin) than inside; then keepers go
    before complete takes, and the takes that are liked more on the whole before others. Rejects
    and false starts are only used where somebody voted for them.
    """
    likings: dict[TakeId, int] = {}
    for each in ballots:
        take = take_of(takes, each.take)
        if take is not None:
            likings[take.id] = likings.get(take.id, 0) + each.points
    stretches = _stretches(takes, ballots, whole, bounds)
    scored = [points_on(ballots, each, takes) for each in stretches]
    choices = [_best(takes, points, bars) for points, bars in zip(scored, stretches, strict=True)]
    chosen = _fewest_joins(stretches, choices, frozenset(bounds), likings)
    pieces = [
        DraftPiece(bars, take.id, points.get(take.id, 0), bool(points))
        for bars, points, take in zip(stretches, scored, chosen, strict=True)
        if take is not None
    ]
    merged, whose = _merged(pieces)
    gaps = [bars for bars, take in zip(stretches, chosen, strict=True) if take is None]
    return DraftedComp(pieces=merged, takes=whose, stretches=tuple(pieces), gaps=_joined(gaps))


def _stretches(
    takes: Sequence[TakeSpan],
    ballots: Sequence[Ballot],
    whole: BarRange,
    bounds: Iterable[BarPoint],
) -> list[BarRange]:
    """The bars of a comp, parted wherever a vote, a take or a section begins or ends."""
    spans = [each.bars for each in ballots] + [take.bars for take in takes if take.bars]
    points = {point for span in spans for point in span} | set(bounds) | set(whole)
    inside = sorted(point for point in points if whole.start <= point <= whole.end)
    return [BarRange(start, end) for start, end in pairwise(inside)]


def _best(takes: Sequence[TakeSpan], points: dict[TakeId, int], bars: BarRange) -> list[TakeSpan]:
    """The takes that cover some bars and are voted best there."""
    there = [
        take
        for take in takes
        if (take.bars is None or _covers(take.bars, bars))
        and (take.result not in _UNHEARD or points.get(take.id, 0) > 0)
    ]
    noted = [take for take in there if take.bars is not None or points.get(take.id, 0) > 0]
    there = noted or there
    most = max((points.get(take.id, 0) for take in there), default=0)
    return [take for take in there if points.get(take.id, 0) == most]


_Cost = tuple[int, int, int, int, int]


def _fewest_joins(
    stretches: Sequence[BarRange],
    choices: Sequence[list[TakeSpan]],
    bounds: frozenset[BarPoint],
    likings: dict[TakeId, int],
) -> list[TakeSpan | None]:
    """Choose a take for each stretch: joins first, then where they are, then the takes."""
    ways: list[dict[TakeSpan | None, tuple[_Cost, TakeSpan | None]]] = []
    for bars, several in zip(stretches, choices, strict=True):
        here: dict[TakeSpan | None, tuple[_Cost, TakeSpan | None]] = {}
        heard: Sequence[TakeSpan | None] = several or [None]
        for take in heard:
            own = (
                (0, 0, _RANKS.get(take.result, 4), -likings.get(take.id, 0), -take.number)
                if take
                else (0, 0, 0, 0, 0)
            )
            if not ways:
                here[take] = (own, None)
                continue
            # A gap is no join, for nothing is heard there.
            here[take] = min(
                (
                    (_plus(cost, own, _join(before, take, bars.start, bounds)), before)
                    for before, (cost, _) in ways[-1].items()
                ),
                key=lambda found: found[0],
            )
        ways.append(here)
    chosen: list[TakeSpan | None] = []
    if not ways:
        return chosen
    last = min(ways[-1], key=lambda take: ways[-1][take][0])
    for here in reversed(ways):
        chosen.append(last)
        last = here[last][1]
    return chosen[::-1]


def _join(
    before: TakeSpan | None, after: TakeSpan | None, at: BarPoint, bounds: frozenset[BarPoint]
) -> _Cost:
    is_join = before is not None and after is not None and before.id != after.id
    return (int(is_join), int(is_join and at not in bounds), 0, 0, 0)


def _plus(*costs: _Cost) -> _Cost:
    a, b, c, d, e = (sum(column) for column in zip(*costs, strict=True))
    return (a, b, c, d, e)


def _merged(
    pieces: Sequence[DraftPiece],
) -> tuple[tuple[BarRange, ...], tuple[TakeId, ...]]:
    bars: list[BarRange] = []
    takes: list[TakeId] = []
    for each in pieces:
        if takes and takes[-1] == each.take and bars[-1].end == each.bars.start:
            bars[-1] = BarRange(bars[-1].start, each.bars.end)
        else:
            bars.append(each.bars)
            takes.append(each.take)
    return tuple(bars), tuple(takes)


def _joined(ranges: Iterable[BarRange]) -> tuple[BarRange, ...]:
    found: list[BarRange] = []
    for each in ranges:
        if found and found[-1].end == each.start:
            found[-1] = BarRange(found[-1].start, each.end)
        else:
            found.append(each)
    return tuple(found)


def _covers(outer: BarRange, inner: BarRange) -> bool:
    return outer.start <= inner.start and inner.end <= outer.end
