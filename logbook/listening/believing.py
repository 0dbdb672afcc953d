"""Which readings of the following near home are believed, by what supports them besides themselves.

A single stroke may be nearly alike in two performances, and then it fits a take that was never
used: at a lag of its own, for as long as it sounds, with nothing known on either side. A piece that
an editor cut stands at a place the take is used at elsewhere, or holds through several strokes, or
joins up with what is known before and after it. One of these is asked of every reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

LEAST_FRAMES, LEAST_FRAMES_ELSEWHERE, SHORT_FRAMES = 5, 15, 22
ALONE_FRAMES = 30  # more than a stroke lasts
HOME_FIT, LONG_FIT, SHORT_FIT, ALONE_FIT = 0.62, 0.65, 0.8, 0.8  # of what is usual
USUAL_PRICE = 11.0  # a place where more than one frame in a hundred or so stands
CLEAR = 1.5  # of the price of its place: how far a reading must lead every other take's
FIRM_FRAMES, FIRM_SHARE = 30, 1 / 150  # found at a place at other times, for it to be in use
NEAR_LAGS = 1


@dataclass(frozen=True, slots=True)
class Reading:
    """Frames `first` to `last` (exclusive) read as one place, or as nothing known.

    home: number of the home, -1 for nothing known; lag: low-rate samples, take minus bounce.
    gained: log likelihood ratio against nothing known, the price of its place paid; clear: against
    the best of any other take; fit: mean correlation with the take, 0 to 1.
    """

    first: int
    last: int
    home: int = -1
    lag: int = 0
    gained: float = 0.0
    clear: float = 0.0
    price: float = 0.0
    fit: float = 0.0

    @property
    def frames(self) -> int:
        """How many frames it lasts."""
        return self.last - self.first


def likely(reading: Reading, usual: float) -> bool:
    """Whether a reading is better than none: what the places in use are counted from."""
    return (
        reading.home >= 0
        and reading.gained > 0.0
        and reading.frames >= LEAST_FRAMES
        and reading.fit**2 > HOME_FIT * usual
    )


def believed(
    readings: Sequence[Reading],
    earlier: Sequence[Reading],
    used: Sequence[tuple[int, int, int]],
    usual: float,
) -> list[bool]:
    """Which of the readings (in order of time) are believed.

    earlier: likely readings of the round before; used: homes, lags and frames of what was known
    beforehand; usual: squared correlation where a take is known.
    """
    total = sum(e.frames for e in earlier) + sum(count for _, _, count in used)
    standing = [
        likely(r, usual)
        and (_firm(r, earlier, used, total, usual) or _holds(r, ALONE_FRAMES, ALONE_FIT * usual))
        for r in readings
    ]
    before = _joined(readings, standing)
    after = _joined(readings[::-1], standing[::-1])[::-1]
    out = []
    for r, stands, one, other in zip(readings, standing, before, after, strict=True):
        if stands or not likely(r, usual):
            out.append(stands)
            continue
        least = SHORT_FIT if r.frames < SHORT_FRAMES else LONG_FIT
        if one and other:
            known_place = r.price < USUAL_PRICE
            out.append(known_place or _holds(r, LEAST_FRAMES_ELSEWHERE, least * usual))
        else:
            out.append((one or other) and _holds(r, SHORT_FRAMES, ALONE_FIT * usual))
    return out


def _holds(reading: Reading, frames: int, fit: float) -> bool:
    """Whether a reading lasts, fits, and leads every other take."""
    return (
        reading.frames >= frames and reading.fit**2 > fit and reading.clear > CLEAR * reading.price
    )


def _firm(
    reading: Reading,
    earlier: Sequence[Reading],
    used: Sequence[tuple[int, int, int]],
    total: int,
    usual: float,
) -> bool:
    """Whether its place is in use at other times too; a reading does not speak for itself."""
    found = sum(
        count
        for home, lag, count in used
        if home == reading.home and abs(lag - reading.lag) <= NEAR_LAGS
    )
    found += sum(
        e.frames
        for e in earlier
        if e.home == reading.home
        and abs(e.lag - reading.lag) <= NEAR_LAGS
        and (e.last <= reading.first or e.first >= reading.last)
    )
    return found >= max(FIRM_FRAMES, FIRM_SHARE * total)


def _joined(readings: Sequence[Reading], standing: Sequence[bool]) -> list[bool]:
    """For each reading whether one that stands by itself lies before it, with no gap between."""
    out: list[bool] = []
    reached = False
    for n, reading in enumerate(readings):
        if n:
            other = readings[n - 1]
            touches = other.last == reading.first or other.first == reading.last
            reached = touches and other.home >= 0 and (reached or standing[n - 1])
        out.append(reached)
    return out
