"""What lines of takes come to: takes, punch-ins, and what contradicts what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.notebook.lines.facts import TakeSaid
from logbook.notebook.lines.page import Page
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import first_meant, ranges_of
from logbook.records import AudioFile, Log, Part, PunchIn, Take
from logbook.records.band import band_of
from logbook.timing.bars import BarRange, parse_range


def mean_take(said: TakeSaid, page: Page) -> None:
    """Log a take, or add to one that is there; a pass of the band for all who played."""
    if said.band:
        _mean_band(said, page)
        return
    part = page.part()
    rated = bool(said.result or said.bars or not said.number)
    session = ""
    take = None
    if said.number and not rated:
        take = _existing(said.number, part, page)
        session = take.session
    else:
        session = page.session().name
        number = said.number or _next(part, session)
        take = next((e for e in part.takes if (e.number, e.session) == (number, session)), None)
    old = take
    if take is None:
        take = Take(number=said.number or _next(part, session), session=session)
    if old is not None and _is_about_bars(said, old, page):
        # "t3 verse a bit rushed" says something of these bars, not that the take ended there.
        said = replace(said, bars="", note=f"{said.bars}: {said.note}")
        rated = False
    fields: dict[str, Any] = {}
    if said.result:
        fields["result"] = said.result
    if said.bars:
        fields["bars"] = one_range(said.bars, page)
    if said.note:
        fields["notes"] = said.note if not take.notes or rated else f"{take.notes}; {said.note}"
    bars = str(fields.get("bars", take.bars))
    if said.punches:
        fields["punch_ins"] = _punched(said, take, bars, page)
    if said.files:
        held = {each.path for each in take.files}
        fields["files"] = tuple(AudioFile(path=each) for each in said.files if each not in held)
    new = replace(take, **fields)
    page.write(new, page.owner, *({"number", "session"} | set(fields)))
    where = page.where
    takes = tuple(new if each is old else each for each in part.takes)
    page.where = where.with_part(replace(part, takes=takes if old else (*takes, new)))
    page.told.append(_told(new, old, page))
    _contradictions(new, part, page)


def _mean_band(said: TakeSaid, page: Page) -> None:
    """Log one pass for every part that played in it, under one number."""
    if said.files:
        raise LogbookError("a file belongs to one part", "name files take by take, as in t3 file")
    version, session = page.version(), page.session().name
    bars = one_range(said.bars, page) if said.bars else ""
    log = Log(instruments=page.where.instruments)
    played, left_out = band_of(log, version, bars)
    if not played:
        raise LogbookError(
            "nobody plays there", "look at the charts, or name the part: part guitar"
        )
    number = said.number or max(_next(part, session) for part in played)
    takes = {part.name: _of_number(part, session, number) for part in played}
    for part in played:
        old = takes[part.name] or Take(number=number, session=session)
        fields: dict[str, Any] = {}
        if said.result:
            fields["result"] = said.result
        if bars:
            fields["bars"] = bars
        if said.note:
            fields["notes"] = said.note
        if said.punches:
            fields["punch_ins"] = _punched(said, old, bars, page)
        new = replace(old, **fields)
        others = tuple(each for each in part.takes if each is not takes[part.name])
        owner = (page.song().title, version.name, part.name)
        page.write(new, owner, *({"number", "session"} | set(fields)))
        current = page.where.part
        moved = page.where.with_part(replace(part, takes=(*others, new)))
        page.where = replace(moved, part=current)
        if new.bars:
            _contradictions(new, part, page)
    page.told.append(band_told(new, [part.name for part in played], left_out))


def band_told(take: Take, played: Sequence[str], left_out: Sequence[tuple[str, str]]) -> str:
    """Say for whom a pass of the band was logged, and for whom not."""
    told = [f"take {take.number} of {listed(played)}: {take.result or 'not rated yet'}"]
    if take.bars:
        told.append(f"bar{'s' if '-' in take.bars else ''} {take.bars}")
    if take.notes:
        told.append(f"note: {take.notes}")
    told.append(f"session {take.session}" if take.session else "no session")
    if left_out:
        told.append(f"left out {listed([f'{name} ({why})' for name, why in left_out])}")
    return ", ".join(told)


def _of_number(part: Part, session: str, number: int) -> Take | None:
    return next((e for e in part.takes if (e.number, e.session) == (number, session)), None)


def _is_about_bars(said: TakeSaid, take: Take, page: Page) -> bool:
    """Whether a line remarks on some bars of a take that is there and longer."""
    if said.result or not (said.number and said.bars and said.note and take.bars):
        return False
    span = parse_range(take.bars)
    places = ranges_of(said.bars, page.where)
    return any(covers(span, each) and each != span for each in places)


def _next(part: Part, session: str) -> int:
    return max((each.number for each in part.takes if each.session == session), default=0) + 1


def _existing(number: int, part: Part, page: Page) -> Take:
    same = [each for each in part.takes if each.number == number]
    here = page.where.session.name if page.where.session else ""
    found = [each for each in same if each.session == here] or same
    if len(found) == 1:
        return found[0]
    if found:
        names = " and ".join(each.session or "no session" for each in found)
        raise LogbookError(f"{part.name} has a take {number} in {names}", "say first: session NAME")
    raise LogbookError(
        f"there is no take {number} of {part.name} yet", f"log it first: t{number} keeper 1-16"
    )


def one_range(place: str, page: Page, where: Where | None = None) -> str:
    """The one stretch a take covers, by the form at hand or that of `where`; of several sections
    of a name the first, which is told.
    """
    found = ranges_of(place, where or page.where)
    if len(found) > 1:
        page.warnings.append(first_meant(place, found))
    return str(found[0])


def _punched(said: TakeSaid, take: Take, bars: str, page: Page) -> tuple[PunchIn, ...]:
    punches = {(each.bars, each.number): each for each in take.punch_ins}
    for each in said.punches:
        span = ranges_of(each.bars, page.where)[0]
        number = each.number or 2
        punches[str(span), number] = PunchIn(bars=str(span), number=number, why=each.why)
        if bars and not covers(parse_range(bars), span):
            page.warnings.append(f"take {take.number} covers bars {bars}, not {span}")
    return tuple(punches.values())


def covers(outer: BarRange, inner: BarRange) -> bool:
    """Whether one stretch holds all of another."""
    return outer.start <= inner.start and inner.end <= outer.end


def _told(new: Take, old: Take | None, page: Page) -> str:
    part = page.part()
    told = [f"take {new.number} of {part.name}: {new.result or 'not rated yet'}"]
    if new.bars:
        told.append(f"bar{'s' if '-' in new.bars else ''} {new.bars}")
    if new.punch_ins:
        told.append("punched in at " + " and ".join(each.bars for each in new.punch_ins))
    told += [f"file {each.path}" for each in new.files]
    if new.notes:
        told.append(f"note: {new.notes}")
    told.append(f"session {new.session}" if new.session else "no session")
    if old is not None and old.result and old.result != new.result:
        told.append(f"was {old.result}")
    if old is not None and old.bars and old.bars != new.bars:
        told.append(f"was bars {old.bars}")
    return ", ".join(told)


def _contradictions(take: Take, part: Part, page: Page) -> None:
    if not take.bars:
        return
    span, whole = parse_range(take.bars), page.where.whole
    if whole is not None and span.end > whole.end:
        page.warnings.append(
            f"the form ends at bar {whole.end.bar - 1} and the take at {last_bar(span)}"
        )
    if take.result != "keeper":
        return
    same = [
        each
        for each in part.takes
        if each.result == "keeper"
        and each.bars == take.bars
        and (each.number, each.session) != (take.number, take.session)
    ]
    if same:
        names = " and ".join(
            f"{each.number}" + (f" of {each.session}" * (each.session != take.session))
            for each in same
        )
        page.warnings.append(
            f"bars {take.bars} already have a keeper: take{'s' * (len(same) > 1)} {names}"
        )


def last_bar(span: BarRange) -> int:
    """The number of the last bar a stretch reaches into."""
    return span.end.bar - (span.end.beat == 1)
