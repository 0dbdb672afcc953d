"""What `recover_comp` hands back: the pieces of a finished part.

Times are seconds. `start` and `end` are in the bounce, `source` in the take. Positions of a
source are exact to the take's sample when the bounce was not re-encoded.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple


class AlsoIn(NamedTuple):
    """Another take (index) that holds the same recording from `source` seconds on."""

    take: int
    source: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """One stretch of the bounce and where it comes from.

    start, end: seconds in the bounce. take: index into the takes given, or None where no take
    fits. source: seconds into that take at which the piece begins (0.0 when take is None).
    gain_db: level of the bounce over the take, decibels (0.0 when take is None). confidence: 0
    to 1, how often a piece found in that way, of whose sound the take explains so much, is right
    (see sureness; tests/benchmarks/bench_edits.py prints how often). Where take is None, how often
    nothing was missed in a stretch so long.
    inverted: the bounce has the opposite polarity of the take. stretch: bounce time over take time,
    1.0 where both run at one speed; `source` is exact where the piece begins. by_notes: the sound
    was processed too far to be subtracted, and its notes alone say where it comes from, good to a
    few milliseconds; cents is then how sharp it is of the take, and its gain is not known (0.0).
    faint: it keeps in step with the take, but little of the sound is the take's (other instruments
    on top, an amplifier, a hall); its gain is not known (0.0).
    fade: seconds of a long crossfade from the piece before, whose middle is `start`; 0.0 at a cut.
    also: other takes that fit it alike, because they hold the same recording.
    """

    start: float
    end: float
    source: float
    take: int | None
    gain_db: float
    confidence: float
    inverted: bool = False
    stretch: float = 1.0
    cents: float = 0.0
    by_notes: bool = False
    faint: bool = False
    fade: float = 0.0
    also: tuple[AlsoIn, ...] = ()

    @property
    def length(self) -> float:
        """Seconds of the bounce this piece covers."""
        return self.end - self.start

    @property
    def offset(self) -> float:
        """Seconds to add to a time in the bounce to get the time in the take."""
        return self.source - self.start


class Pieces(tuple[Piece, ...]):
    """The pieces of a bounce in order, and beside them what was found out about the takes.

    rough_comps: takes (index) that are no performance but a comp of others among those given, and
    of which.
    """

    rough_comps: Mapping[int, tuple[int, ...]]

    def __new__(
        cls, pieces: Iterable[Piece], rough_comps: Mapping[int, tuple[int, ...]] | None = None
    ) -> Pieces:
        """Pieces in order."""
        self = super().__new__(cls, pieces)
        self.rough_comps = dict(rough_comps or {})
        return self
