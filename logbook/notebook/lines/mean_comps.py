"""What the line of a comp comes to: its pieces, of this part or from elsewhere, and what is odd."""

from __future__ import annotations

import itertools
from dataclasses import replace

from logbook.editing.takes import take_of
from logbook.editing.words import named
from logbook.errors import LogbookError
from logbook.names import none_called, quoted
from logbook.notebook.lines.facts import CompSaid, PieceSaid
from logbook.notebook.lines.mean_takes import covers, last_bar, one_range
from logbook.notebook.lines.page import Page
from logbook.notebook.lines.words import is_bars, one_named, ranges_of
from logbook.records import Comp, CompPiece, Log, Part, Take, Version
from logbook.records.context import final_comp, piece_of_record
from logbook.records.elsewhere import elsewhere, why_missing
from logbook.records.part_view import PartView
from logbook.timing.bars import BarPoint, BarRange, parse_point, parse_range

USUAL_COMP = "comp"


def mean_comp(said: CompSaid, page: Page) -> None:
    """Set a comp; a second one does not become the final one unasked."""
    part = page.part()
    final = final_comp(part)
    name = said.name or (final.name if final else USUAL_COMP)
    old = next((each for each in part.comps if each.name.casefold() == name.casefold()), None)
    name = old.name if old else name
    pieces: list[CompPiece] = []
    for each in said.pieces:
        pieces.append(_piece(each, part, page))
    once = list(pieces)
    for _ in range(said.times - 1):
        shift = max(last_bar(parse_range(each.bars)) for each in pieces) + 1
        shift -= parse_range(once[0].bars).start.bar
        pieces += [
            replace(e, bars=_shifted(e.bars, shift), source=e.source or e.bars) for e in once
        ]
    pieces.sort(key=lambda each: parse_range(each.bars))
    is_final = old.final if old else final is None
    comp = Comp(name=name, final=is_final, pieces=tuple(pieces))
    if old:
        page.write(replace(comp, notes=old.notes), page.owner)
    else:
        page.write(comp, page.owner)
    kept = tuple(each for each in part.comps if each is not old)
    page.where = page.where.with_part(replace(part, comps=(*kept, comp)))
    listed = ", ".join(
        f"{e.bars} {named(piece_of_record(e).take._replace(session=''))}"
        + (f" ({e.source})" if e.source and e.source != e.bars else "")
        for e in pieces
    )
    page.told.append(f"{name} of {part.name}: {listed}")
    if not is_final and final is not None:
        page.warnings.append(
            f"{final.name} is still the final one; to make {name} final: "
            f"logbook comp edit {name} --final"
        )
    _contradictions(comp, part, page)


def _piece(said: PieceSaid, part: Part, page: Page) -> CompPiece:
    there, other = _where_from(said, part, page)
    where = replace(page.where, version=there.name, part="") if said.version else page.where
    takes = [each for each in other.takes if each.number == said.take] if other else []
    session = ""
    if said.session:
        session, takes = _session(said, takes, page)
    here = page.where.session.name if page.where.session else ""
    if len(takes) > 1:
        current = [each for each in takes if each.session == here]
        takes = current or takes[-1:]
        session = takes[0].session
    if said.source:
        source = parse_range(one_range(said.source, page, where))
    elif takes and takes[0].bars:
        source = parse_range(takes[0].bars)
    elif where.whole:
        source = where.whole
    else:
        what = said.file or f"take {said.take}"
        raise LogbookError(f"{what} gives no bars", "write them, as in comp t2 1-16")
    span = source
    at = said.at or _same_section(said, page)
    if at:
        start = _point(at, page)
        moved = start.bar - source.start.bar
        if start.beat == source.start.beat:
            span = parse_range(_shifted(str(source), moved))
        else:
            raise LogbookError(f"{at} is not the beat that {source} begins on", "write a bar")
    is_own = not said.file and other is part
    return CompPiece(
        bars=str(span),
        take=said.take,
        source=str(source),
        session=session,
        from_version="" if is_own or not said.version else there.name,
        from_part=other.name if other and said.part and not is_own else "",
        from_file=said.file,
        crossfade_ms=float(said.crossfade_ms) if said.crossfade_ms else None,
    )


def _where_from(said: PieceSaid, part: Part, page: Page) -> tuple[Version, Part | None]:
    """The version and the part a piece comes from; no part for a file of the version.

    Raises LogbookError where the song has no such version, or that no such part.
    """
    there = page.version()
    if said.version:
        song = page.song()
        names = [each.name for each in song.versions]
        name = one_named(said.version, names)
        if name is None:
            if any(each.casefold() == said.version.casefold() for each in page.where.sessions):
                raise LogbookError(
                    f"{quoted(said.version)} is a session, not a version of {song.title}",
                    f"write t{said.take or 1}/{said.version}",
                )
            raise none_called(said.version, names, "version")
        there = next(each for each in song.versions if each.name == name)
    if said.file and said.file != "bounce" and not said.part:
        return there, None
    parts = [each.name for each in there.parts]
    if not said.version and not said.part:
        return there, part
    found = one_named(said.part or part.name, parts)
    if found is None:
        known = f"parts: {', '.join(parts)}" if parts else "no part is logged there yet"
        raise LogbookError(
            f"{there.name} of {page.song().title} has no part {said.part or part.name}",
            f"name the part after a slash, as in t1 of {there.name}/guitar; {known}",
        )
    if not said.part and found != part.name:
        # Only the same name goes without saying.
        raise LogbookError(
            f"{there.name} of {page.song().title} has no part {part.name}",
            f"write it as in t1 of {there.name}/{found}",
        )
    return there, next(each for each in there.parts if each.name == found)


def _session(said: PieceSaid, takes: list[Take], page: Page) -> tuple[str, list[Take]]:
    """The session a piece names, and the takes of it; never another session's."""
    wanted = said.session.casefold()
    exact = [each for each in takes if each.session.casefold() == wanted]
    found = exact or [each for each in takes if each.session.casefold().startswith(wanted)]
    if found:
        return found[0].session, found[:1]
    known = next((each for each in page.where.sessions if each.casefold() == wanted), None)
    if known is not None:
        return known, []
    versions = [each.name for each in page.song().versions]
    version = one_named(said.session, versions)
    if version is not None:
        raise LogbookError(
            f"{quoted(said.session)} is a version of {page.song().title}, not a session",
            f"write t{said.take} of {version}",
        )
    held = ", ".join(dict.fromkeys(each.session or "no session" for each in takes))
    raise LogbookError(
        f"no take {said.take} belongs to a session called {quoted(said.session)}",
        f"take {said.take} belongs to {held}" if held else "name the session as it is logged",
    )


def _same_section(said: PieceSaid, page: Page) -> str:
    """A section of another version stands where this one has a section of that name."""
    if not said.version or not said.source or is_bars(said.source):
        return ""
    try:
        found = ranges_of(said.source, page.where)
    except LogbookError as error:
        raise LogbookError(
            f"{error.problem} in {page.version().name}, so it is not clear where it stands",
            "say the bar, as in mix of radio B at 17",
        ) from error
    return str(found[0].start)


def _point(text: str, page: Page) -> BarPoint:
    try:
        return parse_point(text)
    except LogbookError:
        return ranges_of(text, page.where)[0].start


def _shifted(text: str, by: int) -> str:
    span = parse_range(text)
    if span.start.bar + by < 0:
        raise LogbookError(f"{text} cannot begin before the song", "write a later bar")
    return str(
        BarRange(
            span.start._replace(bar=span.start.bar + by), span.end._replace(bar=span.end.bar + by)
        )
    )


def _contradictions(comp: Comp, part: Part, page: Page) -> None:
    pieces = comp.pieces
    own = [each for each in pieces if not each.is_elsewhere]
    numbers = {each.number for each in part.takes}
    missing = sorted({each.take for each in own} - numbers)
    if missing:
        page.warnings.append(
            f"no take {' and '.join(map(str, missing))} of {part.name} is logged yet"
        )
    spans = [parse_range(each.bars) for each in pieces]
    for before, after in itertools.pairwise(spans):
        if after.start < before.end:
            page.warnings.append(f"the pieces at {before} and {after} overlap")
        elif before.end < after.start:
            page.warnings.append(f"nothing covers bars {BarRange(before.end, after.start)}")
    whole = page.where.whole
    if whole is not None and spans and max(each.end for each in spans) > whole.end:
        page.warnings.append(f"the form ends at bar {whole.end.bar - 1}, before the comp does")
    used = {each.take for each in own}
    for take in part.takes:
        rejected = take.result in ("reject", "false start")
        if take.number in used and rejected:
            page.warnings.append(f"take {take.number} is a {take.result}")
    for piece in own:
        bars = next((t.bars for t in part.takes if t.number == piece.take and t.bars), "")
        source = parse_range(piece.source or piece.bars)
        if bars and not covers(parse_range(bars), source):
            page.warnings.append(f"take {piece.take} covers bars {bars}, not {source}")
    _elsewhere_contradictions(comp, page)


def _elsewhere_contradictions(comp: Comp, page: Page) -> None:
    """Warn of what is not logged, rejected or too short where it comes from elsewhere."""
    place = PartView(Log(), page.song(), page.version(), page.part())
    there = elsewhere(place, comp).takes
    for piece in filter(lambda each: each.is_elsewhere, comp.pieces):
        edit = piece_of_record(piece)
        take = take_of(there, edit.take)
        if take is None:
            page.warnings.append(why_missing(place, edit.take)[0])
        elif take.result and take.result.value in ("reject", "false start"):
            page.warnings.append(f"{named(edit.take)} is a {take.result.value}")
        elif take.bars and not covers(take.bars, edit.source):
            page.warnings.append(f"{named(edit.take)} covers bars {take.bars}, not {edit.source}")
