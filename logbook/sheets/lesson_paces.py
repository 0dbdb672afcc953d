"""The ladder of practice tempos, from slow to the record's, and how long everything lasts at each.

Practice starts at half the record's tempo and comes up to it in steps (common practice, no
source).
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from logbook.records.songs import Version
from logbook.sheets.heads import change_said, clock
from logbook.timing.bars import BarPoint
from logbook.timing.stretches import TempoAt
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

MARKS = (
    *range(40, 60, 2), *range(60, 72, 3), *range(72, 120, 4), *range(120, 144, 6),
    *range(144, 216, 8),
)  # fmt: skip
"""The figures on the scale of a mechanical metronome, 40 to 208 (from memory)."""

PACES = tuple(Fraction(percent, 100) for percent in (50, 60, 70, 80, 90, 100))


class Pace(NamedTuple):
    """One practice tempo: its share of the record's, in words, and what lasts how long."""

    share: str
    tempo: str
    bar: str
    whole: str


def paces_of(tempo_map: TempoMap, version: Version) -> tuple[Pace, ...]:
    """The ladder of tempos, each with how long a bar and the whole form last at it."""
    last = max((each.start + each.bars for each in version.form), default=0)
    record = tempo_map.tempos[0].tempo.bpm
    paces = []
    for share in PACES:
        ratio = share if share == 1 else on_the_scale(record * share) / record
        paces.append(_pace(share, tempo_map.scaled(ratio), last))
    return tuple(paces)


@lru_cache(maxsize=1024)
def on_the_scale(bpm: Fraction) -> Fraction:
    """Return the nearest tempo that a metronome has; slower ones are whole numbers."""
    if bpm < MARKS[0] - 1 or bpm > MARKS[-1]:
        return Fraction(max(round(bpm), 1))
    return Fraction(min(MARKS, key=lambda mark: abs(mark - bpm)))


def _beaten(change: TempoAt) -> TempoAt:
    """A change of tempo with the figures nearest to its own that a metronome has."""

    def beaten(tempo: Tempo) -> Tempo:
        return Tempo(on_the_scale(tempo.bpm), tempo.unit)

    ramp = change.ramp
    return change._replace(
        tempo=beaten(change.tempo),
        ramp=ramp._replace(tempo=beaten(ramp.tempo)) if ramp is not None else None,
    )


def _pace(share: Fraction, scaled: TempoMap, last: int) -> Pace:
    bar_s = scaled.seconds_at(BarPoint(2)) - scaled.seconds_at(BarPoint(1))
    whole_s = scaled.seconds_at(BarPoint(last)) if last else Fraction(0)
    name = "full tempo" if share == 1 else f"{float(share):.0%}"
    return Pace(
        name,
        "; ".join(change_said(each if share == 1 else _beaten(each)) for each in scaled.tempos),
        f"{float(bar_s):.1f} s",
        clock(whole_s) if last else "",
    )
