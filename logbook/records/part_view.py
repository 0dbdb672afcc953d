"""One view of a part: whatever follows from what is logged of it, worked out once and when asked.

Rooms that say something about a part ask here, so that two of them never disagree.

The comp that counts is the final one; where none is marked as final, the only one. Among several
of which none is final nobody knows which is heard, so none counts.

A name of another part is compared without regard to capitals, as names in the log are. Text that
cannot be read raises LogbookError from the answer that needs it, and from no other.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from logbook.editing.comp import EditPiece
from logbook.editing.doubling import Doubling, parse_doubling_state
from logbook.editing.survey import CompCover, CompSurvey, Section, cover_of, survey_comp
from logbook.editing.surveyed import TakeShare
from logbook.editing.takes import TakeId, TakeSpan
from logbook.errors import LogbookError
from logbook.names import alike, matches
from logbook.records.context import (
    PartPlace,
    bars_map,
    by_name,
    capos_of,
    counting_comp,
    logged_or_usual,
    pieces_of,
    sections_of,
    takes_of,
    tempo_map_of,
)
from logbook.records.elsewhere import elsewhere
from logbook.records.log import Log
from logbook.records.parts import Comp, Part
from logbook.records.parts import Take as TakeRecord
from logbook.records.places import Instrument
from logbook.records.shared import with_shared
from logbook.records.songs import Song
from logbook.strings.capo import Capos
from logbook.strings.tunings import StringTuning
from logbook.timing.tempo_map import TempoMap


class PartView(PartPlace):
    """A part where it stands, in its version, song and log, and what follows from them."""

    @cached_property
    def recorded(self) -> Part:
        """The part with the files of others that are of it too: a room microphone, a whole band."""
        return with_shared(self.log, self.song, self.version, self.part)

    # Instrument

    @cached_property
    def instrument(self) -> Instrument | None:
        """What it was played on, None while it is not clear or not in the log."""
        return by_name(self.log.instruments, self.part.instrument)

    @cached_property
    def tuning(self) -> StringTuning | None:
        """The part's tuning, else its instrument's usual one; None where neither is said.

        Raises LogbookError.
        """
        name = self.part.tuning or (self.instrument.tuning if self.instrument else "")
        if not name:
            return None
        return logged_or_usual(self.log.tunings, name, self.version.a4_hz)

    @cached_property
    def capos(self) -> Capos:
        """What capos are on. Raises LogbookError."""
        return capos_of(self.part)

    # Time

    @cached_property
    def bars(self) -> TempoMap:
        """The version's map, for questions about bars; any tempo where none is logged.

        Raises LogbookError where meters or tempos cannot be read.
        """
        return bars_map(self.version)

    @cached_property
    def tempo_map(self) -> TempoMap | None:
        """The version's map where a tempo is logged, for questions about seconds."""
        return tempo_map_of(self.version)

    @cached_property
    def form(self) -> tuple[Section, ...]:
        """The version's sections in the order of their bars."""
        return sections_of(self.version)

    # Takes and comps

    @cached_property
    def takes(self) -> tuple[TakeSpan, ...]:
        """The takes as the editing room takes them. Raises LogbookError."""
        return takes_of(self.recorded)

    @cached_property
    def comp(self) -> Comp | None:
        """The comp that counts, None where there is none or it is not known which."""
        return counting_comp(self.part)

    @property
    def is_undecided(self) -> bool:
        """Whether there are several comps and none of them is the final one."""
        return self.comp is None and bool(self.part.comps)

    @cached_property
    def pieces(self) -> tuple[EditPiece, ...]:
        """The pieces of the comp that counts, none without one. Raises LogbookError."""
        return pieces_of(self.comp) if self.comp else ()

    @cached_property
    def survey(self) -> CompSurvey | None:
        """Everything worked out about the comp that counts; None without one that has pieces.

        Raises LogbookError where it cannot be read.
        """
        return self.survey_of(self.comp) if self.comp and self.comp.pieces else None

    def survey_of(self, comp: Comp) -> CompSurvey:
        """Return everything worked out about any comp of the part. Raises LogbookError."""
        outside = elsewhere(self, comp)
        return survey_comp(
            pieces_of(comp),
            (*self.takes, *outside.takes),
            self.form,
            self.bars,
            self.version.sample_rate_hz,
            outside.maps,
        )

    def cover_of(self, comp: Comp) -> CompCover:
        """Return what any comp of the part covers, and its faults. Raises LogbookError."""
        outside = elsewhere(self, comp)
        takes = (*self.takes, *outside.takes)
        return cover_of(pieces_of(comp), takes, self.form, self.bars, outside.maps)

    def share_of(self, take: TakeRecord) -> TakeShare | None:
        """Return how much of the finished part a take makes up, None where it is not heard.

        Raises LogbookError where the comp cannot be read.
        """
        wanted = TakeId(take.number, take.session)
        shares = self.survey.shares if self.survey else ()
        return next((each for each in shares if each.take == wanted), None)

    # Doubles

    @cached_property
    def doubling(self) -> Doubling:
        """What was noted about the part being doubled. Raises LogbookError."""
        return Doubling(
            state=parse_doubling_state(self.part.doubled),
            by=tuple(double.part for double in self.part.doubles),
            panned=tuple(double.pan for double in self.part.doubles),
            why=self.part.doubled_why,
        )

    @cached_property
    def doubles(self) -> tuple[str, ...]:
        """The parts of the version that this one is logged as a double of."""
        return tuple(
            other.name
            for other in self.version.parts
            if any(alike(double.part, self.part.name) for double in other.doubles)
        )


def places(log: Log) -> Iterator[PartView]:
    """Every part of the log where it stands, in the log's order."""
    for song in log.songs:
        yield from parts_of(log, song)


def parts_of(log: Log, song: Song) -> Iterator[PartView]:
    """Every part of the song where it stands, in the log's order."""
    for version in song.versions:
        for part in version.parts:
            yield PartView(log, song, version, part)


def chosen_comp(view: PartView, name: str = "") -> Comp:
    """Return the comp called `name` (its beginning will do); without a name the one that counts.

    Raises LogbookError where there is none, or it is not clear which is meant.
    """
    comps = view.part.comps
    names = ", ".join(comp.name for comp in comps)
    if not comps:
        raise LogbookError(
            f"no comp of {view.title} is logged", "log its pieces with `logbook comp add`"
        )
    if name:
        found = matches(name, comps, called=lambda comp: comp.name)
        if len(found) != 1:
            raise LogbookError(f"no one comp of {view.title} is {name!r}", f"there is {names}")
        return found[0]
    if view.comp is None:
        raise LogbookError(f"no comp of {view.title} is the final one", f"name one of {names}")
    return view.comp
