"""What `logbook.editing.survey` finds out about a comp, as plain data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from logbook.editing.comp import EditPiece
from logbook.editing.takes import PunchedBars, TakeId
from logbook.timing.bars import BarPoint, BarRange


class Section(NamedTuple):
    """A named stretch of the form."""

    name: str
    bars: BarRange


class Overlap(NamedTuple):
    """Bars of the finished part that several pieces claim, and the takes these come from."""

    bars: BarRange
    takes: tuple[TakeId, ...]


class SourceUse(NamedTuple):
    """How often a bar of a take is used, and where it stands in the finished part."""

    take: TakeId
    bar: int
    times: int
    at: tuple[BarRange, ...]


class Reuse(NamedTuple):
    """Bars `at` which `source` bars of a take stand: moved there, repeated, or both.

    `also_at` says where else the same source bars are heard.
    """

    take: TakeId
    source: BarRange
    at: BarRange
    is_moved: bool
    also_at: tuple[BarRange, ...]

    @property
    def is_repeated(self) -> bool:
        """Whether the same source bars are also heard elsewhere."""
        return bool(self.also_at)


class TakeShare(NamedTuple):
    """How much of the finished part a take makes up: bars, and a fraction of the whole."""

    take: TakeId
    bars: Fraction
    share: Fraction


class Unused(NamedTuple):
    """Bars of a take that the comp never uses."""

    take: TakeId
    bars: tuple[BarRange, ...]


class Join(NamedTuple):
    """Where one piece gives way to the next; `section` is the one it falls inside, "" for none."""

    at: BarPoint
    before: TakeId
    after: TakeId
    crossfade_ms: Fraction
    is_continuous: bool
    section: str


class HeardPunchIn(NamedTuple):
    """A punch-in of a take that is heard in the finished part, and where.

    `first` is where its music is heard for the first time, in several stretches where something
    else comes between; `again` is where music of it comes that was heard before.
    """

    take: TakeId
    punch_in: PunchedBars
    first: tuple[BarRange, ...]
    again: tuple[BarRange, ...] = ()

    @property
    def at(self) -> tuple[BarRange, ...]:
        """Everywhere it is heard."""
        return tuple(sorted((*self.first, *self.again)))


class PieceFault(NamedTuple):
    """What is wrong with the source of a piece.

    `kind` is one of "no such take", "several such takes", "rejected", "outside the take" (`bars`
    are the source bars outside it), "another length" (`bars` is the source) or "another tempo"
    (the source lasts `seconds_longer` seconds longer than the bars it fills).
    """

    kind: str
    piece: EditPiece
    bars: BarRange
    seconds_longer: Fraction = Fraction(0)


@dataclass(frozen=True, kw_only=True)
class CompSurvey:
    """Everything computed about a comp; see the module for what each thing means.

    `pieces` are in the order of the finished part. `length_samples` is None without a rate.
    `find_uses` works `uses` out, which few ask for.
    """

    pieces: tuple[EditPiece, ...]
    covered: tuple[BarRange, ...]
    gaps: tuple[BarRange, ...]
    overlaps: tuple[Overlap, ...]
    outside_form: tuple[BarRange, ...]
    reuses: tuple[Reuse, ...]
    shares: tuple[TakeShare, ...]
    unused: tuple[Unused, ...]
    joins: tuple[Join, ...]
    punch_ins: tuple[HeardPunchIn, ...]
    faults: tuple[PieceFault, ...]
    length_bars: Fraction
    length_seconds: Fraction
    length_samples: int | None
    is_one_pass: bool
    find_uses: Callable[[], tuple[SourceUse, ...]] = field(repr=False, compare=False)

    @cached_property
    def uses(self) -> tuple[SourceUse, ...]:
        """Every source bar that is heard, how often, and where."""
        return self.find_uses()

    @property
    def is_untouched(self) -> bool:
        """Whether the part is one pass of a logged take with nothing punched in that is heard."""
        return self.is_one_pass and not self.punch_ins and not self.missing_takes

    @property
    def missing_takes(self) -> tuple[TakeId, ...]:
        """The takes that pieces name and that are not logged."""
        missing = {fault.piece.take for fault in self.faults if fault.kind == "no such take"}
        return tuple(sorted(missing))
