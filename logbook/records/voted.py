"""Votes as they are logged, read: the ballots of a part, its lines, and the comp they come to."""

from __future__ import annotations

from typing import NamedTuple

from logbook.editing.takes import TakeId, take_of
from logbook.editing.voting import RATINGS, Ballot, DraftedComp, draft_comp, points_on
from logbook.errors import LogbookError
from logbook.records.lyric_lines import is_sung, lyric_lines
from logbook.records.part_view import PartView
from logbook.records.parts import Comp, CompPiece
from logbook.records.votes import Vote
from logbook.timing.bars import BarPoint, BarRange, parse_range

USUAL_DRAFT = "voted"
"""What a drafted comp is called beside one that is there."""


class VotedLine(NamedTuple):
    """A line of the comp sheet: bars, what stands there, and the votes on each take."""

    bars: BarRange
    phrase: str
    votes: tuple[Vote, ...]


def ballots_of(votes: tuple[Vote, ...]) -> tuple[Ballot, ...]:
    """Return votes as the editing room takes them. Raises LogbookError for bars it cannot read."""
    return tuple(
        Ballot(
            each.person,
            parse_range(each.bars),
            TakeId(each.take, each.session),
            RATINGS.get(each.rating, 0),
        )
        for each in votes
    )


def lines_of(place: PartView) -> tuple[VotedLine, ...]:
    """Return the lines people voted on and the sections they did not, by their bars.

    Raises LogbookError for bars that cannot be read.
    """
    by_bars: dict[BarRange, list[Vote]] = {}
    for each in place.part.votes:
        by_bars.setdefault(parse_range(each.bars), []).append(each)
    marks = _marks(place)
    lines = []
    for bars, votes in by_bars.items():
        phrases = dict.fromkeys(each.phrase for each in votes if each.phrase)
        named = [name for name, own in marks if own == bars] or [
            name for name, own in marks if bars.start <= own.start and own.end <= bars.end
        ]
        lines.append(VotedLine(bars, ", ".join(phrases or named), tuple(votes)))
    lines += [
        VotedLine(bars, name, ())
        for name, bars in marks
        if not any(_holds(own, bars) or _holds(bars, own) for own in by_bars)
    ]
    return tuple(sorted(lines, key=lambda line: (line.bars.start, -line.bars.end.bar)))


def _holds(outer: BarRange, inner: BarRange) -> bool:
    return outer.start <= inner.start and inner.end <= outer.end


def _marks(place: PartView) -> list[tuple[str, BarRange]]:
    """What the lines of a comp sheet are called: the words where they are sung, else sections."""
    words = []
    if is_sung(place.part.name, place.part.instrument):
        words = [(each.text, each.bars) for each in lyric_lines(place.version)]
    sections = [
        (section.name, section.bars)
        for section in place.form
        if not any(
            bars.start < section.bars.end and section.bars.start < bars.end for _, bars in words
        )
    ]
    return words + sections


def best_on(place: PartView, bars: BarRange) -> tuple[TakeId, ...]:
    """Return the takes with most points over some bars; none where nobody voted for any."""
    takes = place.takes
    points = points_on(ballots_of(place.part.votes), bars, takes)
    most = max(points.values(), default=0)
    return tuple(take for take, own in points.items() if own == most and own > 0)


def whole_of(place: PartView) -> BarRange:
    """Return the bars a comp of the part covers: those it was added on, else the form, else its
    takes and votes. Raises LogbookError where none of these is logged.
    """
    said = [each.bars for each in place.part.overdubs if each.bars and "," not in each.bars]
    if said and len(said) == len(place.part.overdubs) == 1:
        return parse_range(said[0])
    spans = [section.bars for section in place.form]
    takes = [take.bars for take in place.takes if take.bars]
    if place.form and takes:
        # A pick-up stands before the form, where a take has one.
        first = min(span.start for span in takes)
        if first < BarPoint(1) <= min(span.start for span in spans):
            spans.append(BarRange(first, min(span.start for span in spans)))
    spans = spans or takes or [each.bars for each in ballots_of(place.part.votes)]
    if not spans:
        raise LogbookError(
            f"it is not known which bars {place.title} has",
            "log the form, or the bars of its takes",
        )
    return BarRange(min(span.start for span in spans), max(span.end for span in spans))


def drafted(place: PartView) -> DraftedComp:
    """Draft the part's comp from its votes. Raises LogbookError without votes or takes."""
    if not place.part.votes:
        raise LogbookError(
            f"nobody has voted on takes of {place.title} yet",
            "vote with logbook vote add 'Ada: 9-12 take 3 good'",
        )
    if not place.takes:
        raise LogbookError(f"{place.title} has no takes yet", "log them with logbook take add")
    bounds = [section.bars.start for section in place.form]
    bounds += [bars.start for _, bars in _marks(place)]
    return draft_comp(place.takes, ballots_of(place.part.votes), whole_of(place), bounds)


def comp_of_draft(
    place: PartView, draft: DraftedComp, name: str, final: bool, fade_ms: float | None
) -> Comp:
    """Return a draft as a comp; each piece says its session where the take's number is shared."""
    numbers = [take.number for take in place.part.takes]
    pieces = []
    for at, (bars, take) in enumerate(zip(draft.pieces, draft.takes, strict=True)):
        shared = numbers.count(take.number) > 1
        joined = at > 0 and draft.pieces[at - 1].end == bars.start
        pieces.append(
            CompPiece(
                bars=str(bars),
                take=take.number,
                source=str(bars),
                session=take.session if shared else "",
                crossfade_ms=fade_ms if joined else None,
            )
        )
    return Comp(name=name, final=final, pieces=tuple(pieces))


def faulty_votes(place: PartView) -> list[tuple[Vote, str]]:
    """Return votes for takes there are not, or for bars a take has not, and what is wrong."""
    found = []
    for each in place.part.votes:
        take = take_of(place.takes, TakeId(each.take, each.session))
        if take is None:
            several = sum(other.number == each.take for other in place.takes) > 1
            of_session = f" of {each.session}" if each.session else ""
            found.append(
                (
                    each,
                    f"there are several takes {each.take}"
                    if several and not each.session
                    else f"there is no take {each.take}{of_session}",
                )
            )
            continue
        try:
            bars = parse_range(each.bars)
        except LogbookError as error:
            found.append((each, error.problem))
            continue
        if take.bars and not (take.bars.start <= bars.start and bars.end <= take.bars.end):
            found.append((each, f"take {each.take} covers bars {take.bars} only"))
    return found
