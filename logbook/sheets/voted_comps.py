"""The comp sheet: lines down, takes across, what everybody thought, and what the comp has there.

Takes are set side by side six at a time, so that many of them still fit on a page; takes that
nobody voted on are named below. A draft of the comp is told piece by piece with its grounds.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from logbook.editing.takes import TakeId, TakeSpan, take_of
from logbook.editing.voting import DraftedComp
from logbook.editing.words import bars_said, listed, take_said
from logbook.errors import LogbookError
from logbook.records.context import pieces_of
from logbook.records.part_view import PartView
from logbook.records.voted import VotedLine, best_on, drafted, faulty_votes, lines_of
from logbook.records.votes import Vote
from logbook.sheets.blocks import CAUTION, Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.timing.bars import BarRange, ranges_text

_ACROSS = 6
_LABELS = 10


class AskedVotes(NamedTuple):
    """Whose votes are wanted; with `draft` the comp they come to."""

    place: PartView
    draft: bool = False


def build(subject: AskedVotes, wanted: Wanted) -> Sheet:
    """Return the comp sheet of a part, ready to be drawn. Raises LogbookError as `drafted` does."""
    del wanted
    if subject.draft:
        return _draft_sheet(subject.place)
    place = subject.place
    takes = place.takes
    lines = lines_of(place)
    title = f"{place.title}: comp sheet"
    blocks: list[Block] = [Heading(2, title, quiet=True)]
    if not place.part.votes:
        blocks.append(Paragraph("nobody has voted on its takes yet"))
        return Sheet("comp sheet", title, _data(place, lines), tuple(blocks), _rows(place, lines))
    names = _short_names(place.part.votes)
    shown = _voted_takes(place.part.votes, takes)
    for first in range(0, len(shown), _ACROSS):
        blocks.append(_table(place, lines, shown[first : first + _ACROSS], names))
    silent = [take.id for take in takes if take.id not in shown]
    if silent:
        word = "take" if len(silent) == 1 else "takes"
        blocks.append(
            Paragraph(f"No votes on {word} {listed([take_said(t, takes) for t in silent])}.")
        )
    faults = tuple(
        f"{vote.person or 'the vote'} on bars {vote.bars}: {why}"
        for vote, why in faulty_votes(place)
    )
    if faults:
        blocks.append(Items(faults, CAUTION))
    return Sheet("comp sheet", title, _data(place, lines), tuple(blocks), _rows(place, lines))


def _table(
    place: PartView, lines: tuple[VotedLine, ...], shown: list[TakeId], names: dict[str, str]
) -> Table:
    takes = place.takes
    rows = []
    for line in lines:
        best = best_on(place, line.bars)
        cells = []
        for take in shown:
            votes = [each for each in line.votes if _is_for(each, take, takes)]
            said = ", ".join(_said(each, names) for each in votes)
            cells.append(f"> {said}" if take in best and votes else said)
        rows.append((str(line.bars), line.phrase, *cells, _heard(place, line.bars)))
    heads = [f"take {take_said(take, takes)}" for take in shown]
    return _without_empty(("bars", "line", *heads, "comp has"), rows)


def _without_empty(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> Table:
    kept = [at for at in range(len(head)) if any(row[at] for row in rows)]
    return Table(
        tuple(head[at] for at in kept), tuple(tuple(row[at] for at in kept) for row in rows)
    )


def _said(vote: Vote, names: dict[str, str]) -> str:
    name = names[vote.person]
    note = f" ({vote.notes})" if vote.notes else ""
    return f"{name} {vote.rating}{note}".strip() if len(names) > 1 else f"{vote.rating}{note}"


def _short_names(votes: Iterable[Vote]) -> dict[str, str]:
    """Everybody's name by its first word, or whole where somebody else's begins so too."""
    people = list(dict.fromkeys(each.person for each in votes))
    firsts = [person.partition(" ")[0].casefold() for person in people]
    return {
        person: person if firsts.count(first) > 1 else person.partition(" ")[0]
        for person, first in zip(people, firsts, strict=True)
    }


def _voted_takes(votes: Iterable[Vote], takes: tuple[TakeSpan, ...]) -> list[TakeId]:
    found = {
        take.id
        for each in votes
        if (take := take_of(takes, TakeId(each.take, each.session))) is not None
    }
    return [take.id for take in takes if take.id in found]


def _is_for(vote: Vote, take: TakeId, takes: tuple[TakeSpan, ...]) -> bool:
    found = take_of(takes, TakeId(vote.take, vote.session))
    return found is not None and found.id == take


def _heard(place: PartView, bars: BarRange) -> str:
    """Which takes the comp that counts has in these bars."""
    try:
        pieces = pieces_of(place.comp) if place.comp else ()
    except LogbookError:
        return ""
    there = dict.fromkeys(
        take_said(piece.take, place.takes)
        for piece in pieces
        if piece.bars.start < bars.end and bars.start < piece.bars.end
    )
    return ", ".join(there)


def _rows(place: PartView, lines: tuple[VotedLine, ...]) -> tuple[tuple[object, ...], ...]:
    head = ("bars", "line", "person", "take", "session", "rating", "notes", "comp_has")
    rows: list[tuple[object, ...]] = [head]
    for line in lines:
        heard = _heard(place, line.bars)
        start: tuple[object, ...] = (str(line.bars), line.phrase)
        rows += [
            (*start, each.person, each.take, each.session, each.rating, each.notes, heard)
            for each in line.votes
        ] or [(*start, "", "", "", "", "", heard)]
    return tuple(rows)


def _data(place: PartView, lines: tuple[VotedLine, ...]) -> dict[str, Any]:
    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "lines": [
            {
                "bars": str(line.bars),
                "line": line.phrase,
                "votes": [
                    {
                        "person": each.person,
                        "take": each.take,
                        "session": each.session,
                        "rating": each.rating,
                        "notes": each.notes,
                    }
                    for each in line.votes
                ],
                "best": [str(take) for take in best_on(place, line.bars)],
                "comp_has": _heard(place, line.bars),
            }
            for line in lines
        ],
    }


def _draft_sheet(place: PartView) -> Sheet:
    takes = place.takes
    draft = drafted(place)
    title = f"{place.title}: a comp from the votes"
    rows = [
        (str(bars), f"take {take_said(take, takes)}", _grounds(place, bars, take))
        for bars, take in zip(draft.pieces, draft.takes, strict=True)
    ]
    joins = max(len(rows) - 1, 0)
    facts = [("Joins", "none" if joins == 0 else str(joins))]
    if draft.unvoted:
        facts.append(("No votes", f"{bars_said(draft.unvoted)}: what is beside them goes on"))
    if draft.gaps:
        facts.append(("Gaps", f"{bars_said(draft.gaps)}: no take covers them"))
    blocks: tuple[Block, ...] = (
        Heading(2, title, quiet=True),
        Table(("bars", "take", "why"), tuple(rows)),
        Facts(tuple(facts), column=_LABELS),
    )
    return Sheet(
        "comp draft", title, _draft_data(place, draft), blocks, (("bars", "take", "why"), *rows)
    )


def _grounds(place: PartView, bars: BarRange, take: TakeId) -> str:
    """Who wanted this take in these bars, line by line."""
    takes = place.takes
    said = []
    for line in lines_of(place):
        if not (line.bars.start < bars.end and bars.start < line.bars.end):
            continue
        votes = [each for each in line.votes if _is_for(each, take, takes)]
        words = listed([" ".join(filter(None, (each.person, each.rating))) for each in votes])
        if votes:
            said.append(f"{line.phrase or f'bars {line.bars}'}: {words}")
    return "; ".join(said) or "nobody voted otherwise"


def _draft_data(place: PartView, draft: DraftedComp) -> dict[str, Any]:
    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "pieces": [
            {
                "bars": str(bars),
                "take": take.number,
                "session": take.session,
                "why": _grounds(place, bars, take),
            }
            for bars, take in zip(draft.pieces, draft.takes, strict=True)
        ],
        "joins": max(len(draft.pieces) - 1, 0),
        "unvoted": ranges_text(draft.unvoted),
        "gaps": ranges_text(draft.gaps),
    }
