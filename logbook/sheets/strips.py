"""A comp to scale, as plain data: what stands where, and what was left of the takes.

Places are in bars from the strip's first one, which is the form's first or an earlier one that
something stands in; a part of a bar counts as its fraction. Pieces that go straight on in a take
are one run.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from logbook.editing.comp import EditPiece
from logbook.editing.surveyed import CompSurvey
from logbook.editing.takes import TakeId, TakeResult, TakeSpan, take_of
from logbook.editing.words import take_said
from logbook.records.part_view import PartView
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

Stretch = tuple[float, float]

_GOOD = (TakeResult.KEEPER, TakeResult.COMPLETE)


class StripRun(NamedTuple):
    """A stretch of the finished part: where it stands, of which take, and which bars of it.

    `moved` says that these are other bars than those it stands at, `fade` how long the crossfade
    at its beginning is, in bars.
    """

    at: Stretch
    take: str
    bars: str
    source: str
    moved: bool
    fade: float


class StripTake(NamedTuple):
    """A take above the strip: what was recorded, what of it is used, what was punched in."""

    name: str
    result: str
    recorded: tuple[Stretch, ...]
    used: tuple[Stretch, ...]
    punched: tuple[Stretch, ...]


class Strip(NamedTuple):
    """A comp to scale; `first` is the bar it begins with, `length` how many bars it is long."""

    first: int
    length: float
    sections: tuple[tuple[str, Stretch], ...]
    takes: tuple[StripTake, ...]
    runs: tuple[StripRun, ...]
    left_out: int = 0


class _Run(NamedTuple):
    take: TakeId
    bars: BarRange
    source: BarRange
    fade_ms: Fraction


def strip_of(view: PartView, survey: CompSurvey) -> Strip:
    """Return a comp to scale. Raises LogbookError where bars cannot be read."""
    bars = view.bars
    runs = _runs(survey, view.takes, bars)
    shown = [take for take in view.takes if _is_shown(take, runs)]
    starts = [run.bars.start.bar for run in runs]
    starts += [section.bars.start.bar for section in view.form]
    first = min(starts, default=1)
    origin = bars.bar_start(first) if first >= 1 else Fraction(0)

    def place(stretch: BarRange) -> Stretch:
        start, end = bars.span_of(stretch)
        return (
            float(bars.bars_between(origin, start)) if start >= origin else 0.0,
            float(bars.bars_between(origin, end)) if end >= origin else 0.0,
        )

    found = tuple(
        StripRun(
            place(run.bars),
            take_said(run.take, view.takes),
            str(run.bars),
            str(run.source),
            run.source != run.bars,
            _in_bars(run, bars),
        )
        for run in runs
    )
    sections = tuple((each.name, place(each.bars)) for each in view.form)
    takes = tuple(
        StripTake(
            take_said(take.id, view.takes),
            take.result.value if take.result else "",
            (place(take.bars),) if take.bars else (),
            tuple(place(run.source) for run in runs if run.take == take.id),
            tuple(place(punch.bars) for punch in take.punch_ins),
        )
        for take in shown
    )
    ends = [end for _, (_, end) in sections] + [run.at[1] for run in found]
    ends += [end for take in takes for _, end in (*take.recorded, *take.used)]
    return Strip(
        first, max(ends, default=1.0), sections, takes, found, len(view.takes) - len(shown)
    )


def _runs(survey: CompSurvey, takes: tuple[TakeSpan, ...], bars: TempoMap) -> list[_Run]:
    runs: list[_Run] = []
    for piece in survey.pieces:
        take = _take(piece, takes)
        before = runs[-1] if runs else None
        if before and before.take == take and _goes_on(before, piece, bars):
            runs[-1] = before._replace(
                bars=BarRange(before.bars.start, piece.bars.end),
                source=BarRange(before.source.start, piece.source.end),
            )
        else:
            runs.append(_Run(take, piece.bars, piece.source, piece.crossfade_ms))
    return runs


def _take(piece: EditPiece, takes: tuple[TakeSpan, ...]) -> TakeId:
    found = take_of(takes, piece.take)
    return found.id if found else piece.take


def _goes_on(run: _Run, piece: EditPiece, bars: TempoMap) -> bool:
    if piece.take.version:
        # Its bars are counted by another map.
        return run.bars.end == piece.bars.start and run.source.end == piece.source.start
    return (
        bars.span_of(run.bars)[1] == bars.span_of(piece.bars)[0]
        and bars.span_of(run.source)[1] == bars.span_of(piece.source)[0]
    )


def _is_shown(take: TakeSpan, runs: list[_Run]) -> bool:
    return take.result in _GOOD or any(run.take == take.id for run in runs)


def _in_bars(run: _Run, bars: TempoMap) -> float:
    """How long a run's crossfade is where it stands."""
    if not run.fade_ms:
        return 0.0
    start, end = bars.span_of(run.bars)
    seconds = bars.seconds_of(run.bars)
    if not seconds:
        return 0.0
    return float(run.fade_ms / 1000 / seconds * bars.bars_between(start, end))
