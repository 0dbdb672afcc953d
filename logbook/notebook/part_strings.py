"""What a part is strung with, so that fret lines can be read as they are logged.

The strings are those of the part's tuning, else of its instrument's usual one, else of its kind
of instrument; where none is known, a fret line is only read for its form.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.notebook.declare import Context
from logbook.records import Instrument, Part
from logbook.strings.capo import Capos, read_capos
from logbook.strings.instruments import KINDS, InstrumentKind
from logbook.strings.tunings import StringTuning, find_tuning, parse_tuning


class Strung(NamedTuple):
    """A part's tuning and capos, and how many frets there are (None: not known)."""

    tuning: StringTuning | None
    capos: Capos
    last_fret: int | None
    clear_frets: int | None

    @property
    def strings(self) -> int | None:
        """How many strings there are, None where no tuning is known."""
        return len(self.tuning) if self.tuning else None


def strung(context: Context) -> Strung:
    """Return what the part around a value is strung with.

    Raises LogbookError where its tuning or capo cannot be read.
    """
    part = context.owner(Part)
    if part is None:
        return Strung(None, (), None, None)
    instrument = context.known.find("instrument", part.instrument) if part.instrument else None
    kind = KINDS.get(instrument.kind.casefold()) if instrument else None
    return Strung(
        _tuning(part, instrument, kind, context),
        read_capos(part.capo),
        instrument.frets if instrument else None,
        kind.clear_frets if kind else None,
    )


def _tuning(
    part: Part, instrument: Instrument | None, kind: InstrumentKind | None, context: Context
) -> StringTuning | None:
    name = part.tuning or (instrument.tuning if instrument else "")
    if name:
        logged = context.known.find("tuning", name)
        return parse_tuning(logged.strings, name=name) if logged else find_tuning(name)
    return find_tuning(kind.tuning) if kind else None
