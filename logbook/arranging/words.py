"""The words of an arrangement: each line in every bar that its recorded bar has become."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from logbook.arranging.form import ArrangedForm
from logbook.records.lyrics import Lyric, in_order
from logbook.timing.bars import BarPoint
from logbook.timing.meter import parse_meter
from logbook.timing.tempo_map import TempoMap


def move_words(lyrics: Iterable[Lyric], form: ArrangedForm) -> tuple[Lyric, ...]:
    """Return the lines where they are sung now; what began in a bar that is not played goes.

    A line that began beyond the end of a bar that is shorter now begins with the next one.
    """
    if form.is_recorded:
        return in_order(lyrics)
    by_bar: dict[int, list[Lyric]] = {}
    for line in lyrics:
        by_bar.setdefault(line.bar, []).append(line)
    beats = {bar: parse_meter(meter).beats for bar, meter in form.meters.items()}
    beats.update(form.beats)
    moved: dict[tuple[int, Fraction], Lyric] = {}
    for bar, origin in sorted(form.origins.items()):
        for line in in_order(by_bar.get(origin, ())) if origin is not None else ():
            new = replace(line, bar=bar)
            if bar in beats and Fraction(line.beat) >= beats[bar] + 1:
                new = replace(line, bar=bar + 1, beat="1")
                if bar + 1 not in form.origins:
                    continue
            key = (new.bar, Fraction(new.beat))
            if key in moved:
                new = replace(new, text=f"{moved[key].text} / {new.text}")
            moved[key] = new
    return in_order(moved.values())


def words_at(lyrics: Iterable[Lyric], bars: TempoMap) -> Iterator[tuple[Fraction, str]]:
    """Return when each line begins, in whole notes from the start of the music, and its words.

    A line before the pick-up begins, or beyond the end of its bar, begins with its bar's edge.
    """
    for line in in_order(lyrics):
        if line.bar < bars.first_bar:
            continue
        start = bars.bar_start(line.bar)
        at = bars.wholes_at(BarPoint(line.bar, Fraction(line.beat)))
        yield min(max(at, start), start + bars.bar_length(line.bar)), line.text
