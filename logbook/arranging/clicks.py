"""Where the click falls: count-in and beats of the arranged version, in exact time.

Conventions. The click falls on felt beats: four in a bar of 4/4, two in 6/8, seven in 3+2+2/8.
Beat one of every bar is accented, and the first beat of every group of a meter that has uneven
ones. The bars of the count-in come before bar one, in its meter and the tempo the music begins in;
a pick-up fills the end of the last of them, and the click goes on under it. In free time there is
no click, and nothing is counted into it: the count-in is silent then.
Times are in seconds from the first click, whole notes from where the count-in begins.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.lengths import last_bar, tempo_map
from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap

LOUD_CAUTION = (
    "Clicks are sharp and hard on the ears: start with headphones and monitors turned down, and "
    "ask a doctor if your ears ring afterwards."
)


class Click(NamedTuple):
    """One click: `wholes` and `seconds` from the start of the count-in, or of the music."""

    wholes: Fraction
    seconds: Fraction
    accent: bool


class ClickTrack(NamedTuple):
    """All clicks, the tempo map, and where the music stands after the count-in.

    `lead` is how much comes before the tempo map's start: whole notes and seconds. `end` is
    where the music ends, counted from the count-in.
    """

    clicks: tuple[Click, ...]
    bars: TempoMap
    count_in_bars: int
    lead_wholes: Fraction
    lead_seconds: Fraction
    end_wholes: Fraction
    end_seconds: Fraction

    def seconds_at(self, wholes: Fraction) -> Fraction:
        """Seconds from the start of the count-in to a musical time of the tempo map."""
        return self.lead_seconds + self.bars.seconds_at_wholes(wholes)


def click_track(arranged: ArrangedVersion, count_in_bars: int | None = None) -> ClickTrack:
    """Lay the click; `count_in_bars` (None: the arrangement's) may be 0.

    Raises LogbookError where no tempo is known, or the count-in has no length that can be.
    """
    bars = tempo_map(arranged)
    count = arranged.arrangement.count_in_bars if count_in_bars is None else count_in_bars
    if not 0 <= count <= 64:
        raise LogbookError(f"a count-in of {count} bars cannot be", "give 0 to 64 bars")
    meter = bars.meter_at(1)
    lead_wholes = count * meter.bar_length - bars.pickup if count else Fraction(0)
    speed = bars.tempo_at(BarPoint(bars.first_bar)).wholes_a_second
    lead = lead_wholes / speed
    last = last_bar(arranged)
    clicks = [*_count_in(bars, count, lead_wholes, speed), *_beats(bars, last, lead_wholes, lead)]
    end = bars.bar_start(last + 1)
    return ClickTrack(
        tuple(clicks),
        bars,
        count,
        lead_wholes,
        lead,
        lead_wholes + end,
        lead + bars.seconds_at_wholes(end),
    )


def _count_in(
    bars: TempoMap, count: int, lead_wholes: Fraction, speed: Fraction
) -> Iterator[Click]:
    meter = bars.meter_at(1)
    if bars.is_free(Fraction(0)):
        return  # nothing is counted into free time
    for number in range(count * meter.felt_beats):
        wholes = number * meter.felt_beat_length
        if wholes < lead_wholes:
            accent = wholes % meter.bar_length in meter.accents
            yield Click(wholes, wholes / speed, accent)


def _beats(bars: TempoMap, last: int, lead_wholes: Fraction, lead: Fraction) -> Iterator[Click]:
    for bar in range(bars.first_bar, last + 1):
        meter = bars.meter_at(bar)
        start = bars.bar_start(bar)
        if bar == 0:
            start -= meter.bar_length - bars.pickup
        for beat in range(meter.felt_beats):
            wholes = start + beat * meter.felt_beat_length
            if wholes >= 0 and not bars.is_free(wholes):
                seconds = lead + bars.seconds_at_wholes(wholes)
                accent = beat * meter.felt_beat_length in meter.accents
                yield Click(lead_wholes + wholes, seconds, accent)
