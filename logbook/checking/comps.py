"""Comps against the form and the takes, and against what was remembered about reuse."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from logbook.checking.problem import MISSING, Problem, unreadable
from logbook.editing.comp import EditPiece
from logbook.editing.handles import missing_handles
from logbook.editing.spans import Span, common
from logbook.editing.survey import CompCover, PieceFault
from logbook.editing.takes import TakeId, take_of
from logbook.editing.words import bars_said, listed, named
from logbook.errors import LogbookError
from logbook.records.elsewhere import why_missing
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.parts import Comp
from logbook.records.silence import silent_bars
from logbook.records.songs import Song
from logbook.records.take_files import clips_found
from logbook.timing.bars import BarRange, bars, parse_range
from logbook.timing.tempo_map import TempoMap


def comp_edits(log: Log, song: Song) -> Iterator[Problem]:
    """Yield what is wrong with comps: gaps, overlaps and strays of the one that is heard, and
    pieces of any whose take is missing, rejected, or has not these bars.

    A part that was added over some bars only, as its overdub says, needs to cover only those.
    """
    for place in parts_of(log, song):
        for comp in place.part.comps:
            if not comp.pieces:
                continue
            where = f"{place.title}: {comp.name}"
            try:
                cover = place.cover_of(comp)
                if comp is place.comp:
                    yield from _bars(place, where, cover)
            except LogbookError as error:
                yield unreadable("comp", where, error)
                continue
            yield from (_fault(place, where, fault) for fault in cover.faults)
            yield from _handles(place, where, comp)


def _handles(view: PartView, where: str, comp: Comp) -> Iterator[Problem]:
    """Yield joins whose files are too short for the crossfade."""
    if not any(piece.crossfade_ms for piece in comp.pieces):
        return
    try:
        clips, _ = clips_found(view, comp)
    except LogbookError:
        return  # the rules on form and tempo say so
    for missing in missing_handles(clips):
        piece = missing.clip.piece
        begins = missing.side == "before"
        yield Problem(
            "comp crossfade",
            f"{where}, bar {missing.at}",
            f"{named(piece.take, view.takes)} lacks {float(missing.short_ms):.1f} of "
            f"{float(missing.needed_ms):.1f} ms {'ahead of' if begins else 'after'} its bars "
            f"{piece.source}",
            "a crossfade sounds both pieces on both sides of the join, and the file "
            f"{'begins too late' if begins else 'ends too soon'} for it",
            "make the crossfade shorter, or move the join",
            MISSING,
        )


def _bars(place: PartView, where: str, cover: CompCover) -> Iterator[Problem]:
    """Yield gaps, overlaps and bars outside the form."""
    wanted = _wanted_bars(place)
    gaps = [gap for gap in cover.gaps if wanted is None or _meet(place, gap, wanted)]
    silent = silent_bars(place.version, place.part)
    gaps = [left for gap in gaps for left in _sounding(gap, silent)]
    if gaps:
        yield Problem(
            "comp gap",
            where,
            f"nothing stands in {bars_said(gaps)}",
            "the form goes on there, and no piece covers it",
            "add the piece, or say which bars the part was overdubbed on",
        )
    for overlap in cover.overlaps:
        takes = listed([str(take) for take in overlap.takes])
        yield Problem(
            "comp overlap",
            where,
            f"{_bars_are([overlap.bars])} claimed by takes {takes}",
            "a bar of the finished part comes from one place; a crossfade is noted apart",
            "shorten one of the pieces",
        )
    if cover.outside_form:
        yield Problem(
            "comp outside the form",
            where,
            f"{_bars_are(cover.outside_form)} outside the form",
            "the comp holds bars that the form does not",
            "shorten the piece, or add the bars to the form",
        )


def remembered_reuse(log: Log, song: Song) -> Iterator[Problem]:
    """Yield remembered reuse that the comp that counts does not bear out."""
    for place in parts_of(log, song):
        if place.comp is None or not place.comp.pieces:
            continue
        for reuse in place.part.reused:
            where = f"{place.title}: bars {reuse.source} again at {reuse.bars}"
            try:
                bars, pieces = place.bars, place.pieces
                original = _sources(pieces, parse_range(reuse.source), bars, place)
                again = _sources(pieces, parse_range(reuse.bars), bars, place)
            except LogbookError as error:
                yield unreadable("reuse", where, error)
                continue
            if original != again:
                yield Problem(
                    "reuse",
                    where,
                    f"the comp makes bars {reuse.bars} from {_sources_text(again, bars)}, "
                    f"and bars {reuse.source} from {_sources_text(original, bars)}",
                    "what was remembered and what the comp says are two things",
                    "correct the comp, or the remembered reuse",
                )


_Source = tuple[Fraction, TakeId, Span]


def _sources(
    pieces: Sequence[EditPiece], wanted: BarRange, bars: TempoMap, place: PartView
) -> list[_Source]:
    """Return where each stretch of the wanted bars comes from: offset, take, span of the take."""
    takes = place.takes
    span = bars.span_of(wanted)
    found: list[_Source] = []
    for piece in pieces:
        at = bars.span_of(piece.bars)
        shared = common(at, span)
        if shared is None:
            continue
        shift = bars.wholes_at(piece.source.start) - at[0]
        take = take_of(takes, piece.take)
        source = (shared[0] + shift, shared[1] + shift)
        found.append((shared[0] - span[0], take.id if take else piece.take, source))
    return _joined(sorted(found))


def _joined(sources: list[_Source]) -> list[_Source]:
    """Return the stretches with those that go straight on in the same take drawn together."""
    joined: list[_Source] = []
    for offset, take, span in sources:
        if joined and joined[-1][1] == take and joined[-1][2][1] == span[0]:
            joined[-1] = (joined[-1][0], take, (joined[-1][2][0], span[1]))
        else:
            joined.append((offset, take, span))
    return joined


def _sources_text(sources: list[_Source], bars: TempoMap) -> str:
    texts = [f"{named(take)}, bars {bars.range_between(*span)}" for _, take, span in sources]
    return listed(texts) or "nothing"


def _wanted_bars(place: PartView) -> list[BarRange] | None:
    """Return the bars an overdub says the part was added on; None where it should be everywhere."""
    words = [
        parse_range(said)
        for overdub in place.part.overdubs
        for said in overdub.bars.split(",")
        if said.strip()
    ]
    return words or None


def _sounding(gap: BarRange, silent: frozenset[int]) -> Iterator[BarRange]:
    """What of a gap lies in bars where the part plays."""
    if silent.isdisjoint(gap.bars):
        yield gap
        return
    for _, run in groupby(
        enumerate(bar for bar in gap.bars if bar not in silent), key=lambda at: at[1] - at[0]
    ):
        held = [bar for _, bar in run]
        yield bars(held[0], held[-1])


def _meet(place: PartView, gap: BarRange, wanted: list[BarRange]) -> bool:
    time = place.bars
    return any(common(time.span_of(gap), time.span_of(each)) for each in wanted)


def _fault(place: PartView, where: str, fault: PieceFault) -> Problem:
    piece = fault.piece
    take = named(piece.take, place.takes)
    at = f"{where}, bars {piece.bars}"
    match fault.kind:
        case "no such take" if piece.take.is_elsewhere:
            what, mend = why_missing(place, piece.take)
            return Problem("comp take", at, what, "a comp can only use what is in the log", mend)
        case "no such take":
            return Problem(
                "comp take",
                at,
                f"there is no {take} of {place.part.name}",
                "a comp can only use a take that was recorded",
                "correct the number, or log the take",
            )
        case "several such takes":
            return Problem(
                "comp take",
                at,
                f"{take} was recorded in more than one session",
                "numbers start again with each session",
                f'write its session too, as in {piece.take.number}/"first day"',
            )
        case "rejected":
            return Problem(
                "comp take",
                at,
                f"{take} was rejected",
                "a rejected take is not heard",
                "re-rate the take, or use another",
            )
        case "outside the take":
            return Problem(
                "comp source",
                at,
                f"{_bars_are([fault.bars])} not in {take}",
                "its bars are counted by its own version, and it covers others"
                if piece.take.is_elsewhere
                else "the take covers other bars",
                "correct the source bars, or what is logged of the file"
                if piece.take.file
                else "correct the source bars, or the bars the take covers",
            )
        case "another length":
            return Problem(
                "comp source",
                at,
                f"bars {piece.source} of {take} are not as long as bars {piece.bars}",
                "a piece fills exactly its own length",
                "make both ranges equally long",
            )
        case _:
            late = float(fault.seconds_longer)
            return Problem(
                "comp source",
                at,
                f"bars {piece.source} of {take} last {abs(late):.3f} s "
                f"{'longer' if late > 0 else 'shorter'} than bars {piece.bars}",
                f"the tempo map of {piece.take.version} has another tempo there"
                if piece.take.version
                else "the tempo map has another tempo there",
                "check the tempo map, or note that the piece was stretched",
            )


def _bars_are(ranges: Sequence[BarRange]) -> str:
    words = bars_said(ranges)
    return f"{words} {'is' if words.startswith('bar ') else 'are'}"
