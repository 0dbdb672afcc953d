"""What `recover_comp` hands back: the pieces of a finished part.

Times are seconds. `start` and `end` are in the bounce, `source` in the take. Positions of a
source are exact to the take's sample when the bounce was not re-encoded.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Piece:
    """One stretch of the bounce and where it comes from.

    start, end: seconds in the bounce. take: index into the takes given, or None where no take
    fits. source: seconds into that take at which the piece begins (0.0 when take is None).
    gain_db: level of the bounce over the take, decibels (0.0 when take is None). confidence: 0
    to 1, how much of the sound the take explains and how clearly nothing else does.
    inverted: the bounce has the opposite polarity of the take. stretch: bounce time over take time,
    1.0 where both run at one speed; `source` is exact where the piece begins. by_notes: the sound
    was processed too far to be subtracted, and its notes alone say where it comes from, good to a
    few milliseconds; cents is then how sharp it is of the take, and its gain is not known (0.0).
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

    @property
    def length(self) -> float:
        """Seconds of the bounce this piece covers."""
        return self.end - self.start

    @property
    def offset(self) -> float:
        """Seconds to add to a time in the bounce to get the time in the take."""
        return self.source - self.start
