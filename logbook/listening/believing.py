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
SURE = 60.0  # log likelihood ratio; a stroke that is only like another has half of it at most
CLEAR = 1.5  # of the price of its place: how far a reading must lead every other take's
FIRM_FRAMES, FIRM_SHARE = 30, 1 / 150  # found at a place at other times, for it to be in use
NEAR_LAGS = 1
GAP_FRAMES = 5  # at a fade nothing may fit: that parts nothing
UNBROKEN_FRAMES = 75  # that readings which follow one another without a gap must last together


@dataclass(frozen=True, slots=True)
class FrameReading:
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


def likely(reading: FrameReading, usual: float) -> bool:
    """Whether a reading is better than none: what the places in use are counted from."""
    return (
        reading.home >= 0
        and reading.gained > 0.0
        and reading.frames >= LEAST_FRAMES
        and reading.fit**2 > HOME_FIT * usual
    )


def believed(
    readings: Sequence[FrameReading],
    earlier: Sequence[FrameReading],
    used: Sequence[tuple[int, int, int]],
    usual: float,
) -> list[bool]:
    """Which of the readings (in order of time) are believed.

    earlier: likely readings of the round before; used: homes, lags and frames of what was known
    beforehand; usual: squared correlation where a take is known.
    """
    whole, readings = readings, [r for r in readings if r.home >= 0 or r.frames > GAP_FRAMES]
    total = sum(e.frames for e in earlier) + sum(count for _, _, count in used)
    standing = [
        likely(r, usual)
        and (_firm(r, earlier, used, total) or _holds(r, ALONE_FRAMES, ALONE_FIT * usual))
        and (r.gained > SURE or not _borders_on_nothing(readings, n))
        for n, r in enumerate(readings)
    ]
    for a, b in _unbroken(readings, usual):
        standing[a:b] = [True] * (b - a)
    before = _joined(readings, standing)
    after = _joined(readings[::-1], standing[::-1])[::-1]
    out: list[FrameReading] = []
    for r, stands, one, other in zip(readings, standing, before, after, strict=True):
        least = SHORT_FIT if r.frames < SHORT_FRAMES else LONG_FIT
        if one and other:
            known_place = r.price < USUAL_PRICE
            joins = known_place or _holds(r, LEAST_FRAMES_ELSEWHERE, least * usual)
        else:
            joins = (one or other) and _holds(r, SHORT_FRAMES, ALONE_FIT * usual)
        if stands or (joins and likely(r, usual)):
            out.append(r)
    good = set(out)
    return [r in good for r in whole]


def _holds(reading: FrameReading, frames: int, fit: float) -> bool:
    """Whether a reading lasts, fits, and leads every other take."""
    return (
        reading.frames >= frames and reading.fit**2 > fit and reading.clear > CLEAR * reading.price
    )


def _firm(
    reading: FrameReading,
    earlier: Sequence[FrameReading],
    used: Sequence[tuple[int, int, int]],
    total: int,
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


def _touch(one: FrameReading, other: FrameReading) -> bool:
    """Whether a reading begins where another ends."""
    return 0 <= other.first - one.last <= GAP_FRAMES


def _borders_on_nothing(readings: Sequence[FrameReading], n: int) -> bool:
    """Whether nothing known stands right before a reading or right after it."""
    here = readings[n]
    before = readings[n - 1] if n else None
    after = readings[n + 1] if n + 1 < len(readings) else None
    return (before is not None and _touch(before, here) and before.home < 0) or (
        after is not None and _touch(here, after) and after.home < 0
    )


def _unbroken(readings: Sequence[FrameReading], usual: float) -> list[tuple[int, int]]:
    """Runs of readings, each nudged its own way perhaps, that explain the sound without a gap.

    Strokes that are alike come one at a time: between them the sounds differ.
    """
    out: list[tuple[int, int]] = []
    first = frames = 0
    for n, r in enumerate(readings):
        sound = r.gained > SURE and _holds(r, LEAST_FRAMES_ELSEWHERE, LONG_FIT * usual)
        if not sound or (n > first and not _touch(readings[n - 1], r)):
            first, frames = n if sound else n + 1, 0
        if sound:
            frames += r.frames
            if frames >= UNBROKEN_FRAMES:
                if out and out[-1][0] == first:
                    out.pop()
                out.append((first, n + 1))
    return out


def _joined(readings: Sequence[FrameReading], standing: Sequence[bool]) -> list[bool]:
    """For each reading whether one that stands by itself lies before it, with no gap between."""
    out: list[bool] = []
    reached = False
    for n, reading in enumerate(readings):
        if n:
            other = readings[n - 1]
            touches = _touch(other, reading) or _touch(reading, other)
            reached = touches and other.home >= 0 and (reached or standing[n - 1])
        out.append(reached)
    return out
