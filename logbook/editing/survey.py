"""What a comp amounts to, computed exactly: coverage, reuse, shares, joins and length.

Everything is worked out in exact musical time and given back as bars:

* Coverage is held against the form. Gaps are stretches of the form no piece covers, overlaps
  stretches covered by more than one; a crossfade is not an overlap.
* A stretch of the comp is reused when its source bars are not the bars it stands at (it is moved),
  or when the same moment of the take is heard more than once (it is repeated).
* How often a source bar is used is how often the most used moment of it is heard.
* Shares are of the length of all pieces in bars, a part of a bar counting as its fraction.
* What a piece draws on may lie in another version (`maps`): its source bars are counted by that
  version's map, and it is moved when they have another number than the bars it stands at.
* A join is where one piece ends and the next begins. It is continuous when the second goes on in
  the same take where the first left off: then nothing was cut.
* The part is one pass when all pieces are one take, in place and continuous; it is untouched when
  besides no bar that is heard was punched in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.editing.comp import EditPiece
from logbook.editing.spans import Span, common, merged, without
from logbook.editing.surveyed import (
    CompSurvey,
    HeardPunchIn,
    Join,
    Overlap,
    PieceFault,
    Reuse,
    Section,
    SourceUse,
    TakeShare,
    Unused,
)
from logbook.editing.takes import TakeId, TakeResult, TakeSpan, take_of
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

__all__ = [
    "CompSurvey",
    "HeardPunchIn",
    "Join",
    "Maps",
    "Overlap",
    "PieceFault",
    "Reuse",
    "Section",
    "SourceMaps",
    "SourceUse",
    "TakeShare",
    "Unused",
    "survey_comp",
]

# Shorter differences between two tempos are nothing an editor would mend.
_AUDIBLE_SECONDS = Fraction(1, 1000)


Maps = Mapping[str, TempoMap]
"""Tempo maps of other versions, by the names that pieces call them."""


class SourceMaps(NamedTuple):
    """The version's own map, and those of the versions that pieces come from."""

    own: TempoMap
    others: Maps

    def of(self, take: TakeId) -> TempoMap:
        """Return the map a take's bars are counted by; the own one where it is not known."""
        return self.others.get(take.version, self.own)


class _Placed(NamedTuple):
    """A stretch of one take where it stands and where it comes from, in whole notes."""

    take: TakeId
    at: Span
    source: Span

    @property
    def shift(self) -> Fraction:
        """How much later it stands than it was played; two runs with one shift merely overlap."""
        return self.at[0] - self.source[0]

    def heard_at(self, source: Span) -> Span | None:
        """Where a span of the take's music is heard through this piece, if it is."""
        shared = common(self.source, source)
        if shared is None:
            return None
        return shared[0] + self.shift, shared[1] + self.shift


def _pickup(form: Sequence[Section], tempo_map: TempoMap) -> list[Span]:
    """The pick-up before the form, which a comp may hold or leave out."""
    return [(Fraction(0), tempo_map.pickup)] if form and tempo_map.pickup else []


class _LaidComp(NamedTuple):
    """A comp laid along its version: its pieces in order, where they stand, what they cover."""

    ordered: tuple[EditPiece, ...]
    placed: list[_Placed]
    covered: list[Span]
    form: list[Span]


def _laid(
    pieces: Sequence[EditPiece],
    takes: Sequence[TakeSpan],
    form: Sequence[Section],
    sources: SourceMaps,
) -> _LaidComp:
    own = sources.own
    ordered = tuple(sorted(pieces, key=lambda piece: tuple(map(own.wholes_at, piece.bars))))
    placed = [
        _Placed(
            _resolved(piece.take, takes),
            own.span_of(piece.bars),
            sources.of(piece.take).span_of(piece.source),
        )
        for piece in ordered
    ]
    covered = merged(each.at for each in placed)
    return _LaidComp(ordered, placed, covered, merged(own.span_of(each.bars) for each in form))


class CompCover(NamedTuple):
    """What a comp covers of the form, and what is wrong with its pieces."""

    gaps: tuple[BarRange, ...]
    overlaps: tuple[Overlap, ...]
    outside_form: tuple[BarRange, ...]
    faults: tuple[PieceFault, ...]


def cover_of(
    pieces: Sequence[EditPiece],
    takes: Sequence[TakeSpan],
    form: Sequence[Section],
    tempo_map: TempoMap,
    maps: Maps | None = None,
) -> CompCover:
    """Work out of a comp what `survey_comp` says of its coverage and its faults, and no more.

    Raises LogbookError as that does.
    """
    sources = SourceMaps(tempo_map, maps or {})
    return _cover(_laid(pieces, takes, form, sources), takes, form, sources)


def _cover(
    laid: _LaidComp, takes: Sequence[TakeSpan], form: Sequence[Section], sources: SourceMaps
) -> CompCover:
    own = sources.own
    inside = [*_pickup(form, own), *laid.form]
    return CompCover(
        gaps=_as_bars(without(laid.form, laid.covered), own),
        overlaps=_overlaps(laid.placed, own),
        outside_form=_as_bars(without(laid.covered, inside), own),
        faults=tuple(fault for piece in laid.ordered for fault in _faults(piece, takes, sources)),
    )


def survey_comp(
    pieces: Sequence[EditPiece],
    takes: Sequence[TakeSpan],
    form: Sequence[Section],
    tempo_map: TempoMap,
    rate_hz: int | None = None,
    maps: Maps | None = None,
) -> CompSurvey:
    """Work out everything about a comp of a part whose takes and form are given.

    `maps` are the tempo maps of other versions that pieces come from, by their names.
    Raises LogbookError when a piece, take or section names a bar or beat the map does not have.
    """
    sources = SourceMaps(tempo_map, maps or {})
    laid = _laid(pieces, takes, form, sources)
    ordered, placed, covered, _ = laid
    cover = _cover(laid, takes, form, sources)
    runs = _runs(placed)
    joins = _joins(ordered, placed, form, tempo_map)
    samples = None
    if rate_hz is not None:
        samples = sum(
            tempo_map.sample_at_wholes(end, rate_hz) - tempo_map.sample_at_wholes(start, rate_hz)
            for start, end in covered
        )
    return CompSurvey(
        pieces=ordered,
        covered=_as_bars(covered, tempo_map),
        gaps=cover.gaps,
        overlaps=cover.overlaps,
        outside_form=cover.outside_form,
        reuses=_reuses(runs, sources),
        shares=_shares(placed, tempo_map),
        unused=_unused(placed, takes, sources),
        joins=joins,
        punch_ins=_heard_punch_ins(runs, takes, sources),
        faults=cover.faults,
        length_bars=sum((tempo_map.bars_between(*span) for span in covered), Fraction(0)),
        length_seconds=sum(
            (
                tempo_map.seconds_at_wholes(end) - tempo_map.seconds_at_wholes(start)
                for start, end in covered
            ),
            Fraction(0),
        ),
        length_samples=samples,
        is_one_pass=len(runs) == 1 and not _is_moved(runs[0], runs[0].source, sources),
        find_uses=lambda: _uses(runs, sources),
    )


def _resolved(take_id: TakeId, takes: Sequence[TakeSpan]) -> TakeId:
    """The full name of a take, so that "2" and "2/Saturday" are one take if only one exists."""
    take = take_of(takes, take_id)
    return take.id if take else take_id


def _as_bars(spans: Sequence[Span], tempo_map: TempoMap) -> tuple[BarRange, ...]:
    return tuple(tempo_map.range_between(*span) for span in spans)


def _runs(placed: Sequence[_Placed]) -> list[_Placed]:
    """Pieces that go on in the same take where the one before left off, taken as one."""
    runs: list[_Placed] = []
    for each in placed:
        if runs and _goes_on(runs[-1], each):
            runs[-1] = _Placed(
                each.take, (runs[-1].at[0], each.at[1]), (runs[-1].source[0], each.source[1])
            )
        else:
            runs.append(each)
    return runs


def _goes_on(before: _Placed, after: _Placed) -> bool:
    return (
        before.take == after.take
        and before.at[1] == after.at[0]
        and before.source[1] == after.source[0]
    )


def _overlaps(placed: Sequence[_Placed], tempo_map: TempoMap) -> tuple[Overlap, ...]:
    edges = sorted({edge for each in placed for edge in each.at})
    found: list[tuple[Span, tuple[TakeId, ...]]] = []
    for span in pairwise(edges):
        takes = tuple(each.take for each in placed if common(each.at, span))
        if len(takes) < 2:
            continue
        if found and found[-1][0][1] == span[0] and found[-1][1] == takes:
            found[-1] = ((found[-1][0][0], span[1]), takes)
        else:
            found.append((span, takes))
    return tuple(Overlap(tempo_map.range_between(*span), takes) for span, takes in found)


def _heard(runs: Sequence[_Placed], take: TakeId, source: Span) -> list[Span]:
    """Everywhere a span of a take is heard in the finished part."""
    return [at for run in runs if run.take == take and (at := run.heard_at(source)) is not None]


def _uses(runs: Sequence[_Placed], maps: SourceMaps) -> tuple[SourceUse, ...]:
    uses = []
    for take in sorted({run.take for run in runs}):
        tempo_map = maps.of(take)
        sources = [run.source for run in runs if run.take == take]
        touched = sorted({bar for span in sources for bar in tempo_map.range_between(*span).bars})
        for bar in touched:
            bar_span = (tempo_map.bar_start(bar), tempo_map.bar_start(bar + 1))
            at = _as_bars(merged(_heard(runs, take, bar_span)), maps.own)
            uses.append(SourceUse(take, bar, _deepest(sources, bar_span), at))
    return tuple(uses)


def _deepest(spans: Sequence[Span], window: Span) -> int:
    """How many of the spans cover the most covered moment of the window."""
    inside = [shared for span in spans if (shared := common(span, window))]
    return max(sum(start <= moment < end for start, end in inside) for moment, _ in inside)


def _is_moved(run: _Placed, source: Span, maps: SourceMaps) -> bool:
    """Whether a stretch of a run stands at other bars than it comes from."""
    if not run.take.version:
        return run.shift != 0
    at = run.heard_at(source)
    assert at is not None, "the stretch is one of the run's"
    return maps.own.range_between(*at) != maps.of(run.take).range_between(*source)


def _reuses(runs: Sequence[_Placed], maps: SourceMaps) -> tuple[Reuse, ...]:
    reuses = []
    for run in runs:
        others = [each for each in runs if each.take == run.take and each.shift != run.shift]
        cuts = {edge for each in others for edge in each.source}
        edges = sorted({*run.source, *(cut for cut in cuts if run.source[0] < cut < run.source[1])})
        for source in pairwise(edges):
            also_at = merged(_heard(others, run.take, source))
            at = run.heard_at(source)
            is_moved = _is_moved(run, source, maps)
            if at is not None and (is_moved or also_at):
                reuses.append(
                    Reuse(
                        run.take,
                        maps.of(run.take).range_between(*source),
                        maps.own.range_between(*at),
                        is_moved,
                        _as_bars(also_at, maps.own),
                    )
                )
    return tuple(reuses)


def _shares(placed: Sequence[_Placed], tempo_map: TempoMap) -> tuple[TakeShare, ...]:
    bars: dict[TakeId, Fraction] = {}
    for each in placed:
        bars[each.take] = bars.get(each.take, Fraction(0)) + tempo_map.bars_between(*each.at)
    whole = sum(bars.values(), Fraction(0))
    return tuple(TakeShare(take, bars[take], bars[take] / whole) for take in sorted(bars))


def _unused(
    placed: Sequence[_Placed], takes: Sequence[TakeSpan], maps: SourceMaps
) -> tuple[Unused, ...]:
    found = []
    for take in takes:
        if take.bars is not None:
            tempo_map = maps.of(take.id)
            used = [each.source for each in placed if each.take == take.id]
            left = without([tempo_map.span_of(take.bars)], used)
            if left and (used or not take.id.is_elsewhere):
                found.append(Unused(take.id, _as_bars(left, tempo_map)))
    return tuple(found)


def _joins(
    pieces: Sequence[EditPiece],
    placed: Sequence[_Placed],
    form: Sequence[Section],
    tempo_map: TempoMap,
) -> tuple[Join, ...]:
    spans = [(section.name, tempo_map.span_of(section.bars)) for section in form]
    joins = []
    for index, (before, after) in enumerate(pairwise(placed), 1):
        at = after.at[0]
        if before.at[1] != at:
            continue
        inside = [name for name, (start, end) in spans if start < at < end]
        joins.append(
            Join(
                pieces[index].bars.start,
                before.take,
                after.take,
                pieces[index].crossfade_ms,
                _goes_on(before, after),
                inside[0] if inside else "",
            )
        )
    return tuple(joins)


def _heard_punch_ins(
    runs: Sequence[_Placed], takes: Sequence[TakeSpan], maps: SourceMaps
) -> tuple[HeardPunchIn, ...]:
    found = []
    for take in takes:
        of_take = [run for run in runs if run.take == take.id]
        for punch_in in take.punch_ins:
            punched = maps.of(take.id).span_of(punch_in.bars)
            heard: list[Span] = []
            first: list[Span] = []
            again: list[Span] = []
            for run in of_take:
                source = common(run.source, punched)
                if source is None:
                    continue
                new = without([source], heard)
                old = without([source], new)
                first += [(start + run.shift, end + run.shift) for start, end in new]
                again += [(start + run.shift, end + run.shift) for start, end in old]
                heard.append(source)
            if first:
                found.append(
                    HeardPunchIn(
                        take.id,
                        punch_in,
                        _as_bars(merged(first), maps.own),
                        _as_bars(merged(again), maps.own),
                    )
                )
    return tuple(found)


def _faults(piece: EditPiece, takes: Sequence[TakeSpan], maps: SourceMaps) -> list[PieceFault]:
    faults = []
    theirs = maps.of(piece.take)
    source, at = theirs.span_of(piece.source), maps.own.span_of(piece.bars)
    take = take_of(takes, piece.take)
    if take is None:
        several = any(
            (each.number, *each.id[2:]) == (piece.take.number, *piece.take[2:]) for each in takes
        )
        several = several and not piece.take.session
        kind = "several such takes" if several else "no such take"
        faults.append(PieceFault(kind, piece, piece.source))
    else:
        if take.result is TakeResult.REJECT:
            faults.append(PieceFault("rejected", piece, piece.source))
        if take.bars is not None:
            outside = without([source], [theirs.span_of(take.bars)])
            faults.extend(
                PieceFault("outside the take", piece, bars) for bars in _as_bars(outside, theirs)
            )
    if source[1] - source[0] != at[1] - at[0]:
        faults.append(PieceFault("another length", piece, piece.source))
        return faults
    longer = theirs.seconds_of(piece.source) - maps.own.seconds_of(piece.bars)
    if abs(longer) >= _AUDIBLE_SECONDS:
        faults.append(PieceFault("another tempo", piece, piece.source, longer))
    return faults
