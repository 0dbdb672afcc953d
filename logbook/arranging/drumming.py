"""A drum part as it is performed: every stroke in musical time, on its piece of the kit.

Conventions. A pattern goes round from the bar it is named in until the chart says something else;
where the meter changes it begins anew, and is read in the new meter. What follows a bar in which
nobody has charted anything is silent. A stroke is as long as a step of its grid.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.arranging.performance import Note, chart_point, form_end
from logbook.errors import LogbookError
from logbook.records.context import uncharted
from logbook.records.kits import kit_patterns
from logbook.records.part_view import PartView
from logbook.records.parts import Pattern
from logbook.records.silence import silent_bars
from logbook.strings.kit import DrumHit, KitPiece, read_kit
from logbook.timing.tempo_map import TempoMap

_SOFT = {"g": 2, "f": 0}
FLAM_LEAD = Fraction(1, 64)  # how far ahead of its stroke a grace note falls (common sense)
_OPEN_HAT = 46


class DrumStroke(NamedTuple):
    """A stroke on a piece of the kit: when, for how long (whole notes), and how."""

    start: Fraction
    length: Fraction
    hit: DrumHit

    @property
    def piece(self) -> KitPiece:
        """What is struck."""
        return self.hit.piece

    @property
    def midi(self) -> int:
        """The note of General MIDI's percussion key map."""
        return _OPEN_HAT if self.hit.cell == "o" else self.piece.midi


def drum(place: PartView, bars: TempoMap, end: Fraction | None = None) -> tuple[DrumStroke, ...]:
    """Return every stroke of a drum part, in order of time, up to `end` (None: of the form).

    Raises LogbookError where a pattern cannot be read in the meter it is played in.
    """
    last = form_end(place, bars) if end is None else end
    known = kit_patterns(place.part)
    silent = silent_bars(place.version, place.part)
    found: list[DrumStroke] = []
    for start, until, label in _stretches(place, bars, last):
        if label not in known:
            continue
        edges = [start, *_meter_starts(bars, start, until), until]
        for begin, stop in pairwise(edges):
            found += _round(known[label], begin, stop, bars)
    return tuple(
        sorted(
            (each for each in found if bars.point_at(each.start).bar not in silent),
            key=lambda each: each.start,
        )
    )


def _stretches(
    place: PartView, bars: TempoMap, end: Fraction
) -> Iterator[tuple[Fraction, Fraction, str]]:
    """Where each entry of the chart holds, and what it names; one that goes on is one stretch."""
    entries = sorted(place.part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    starts = [bars.wholes_at(chart_point(entry)) for entry in entries]
    stops = [bars.bar_start(section.start) for section in uncharted(place.version, place.part)]
    joined: list[tuple[Fraction, Fraction, str]] = []
    for entry, start, then in zip(entries, starts, [*starts[1:], end], strict=True):
        until = min([then, end, *(at for at in stops if start < at)])
        if start >= until:
            continue
        if joined and joined[-1][2] == entry.voicing and joined[-1][1] == start:
            joined[-1] = (joined[-1][0], until, entry.voicing)
        else:
            joined.append((start, until, entry.voicing))
    yield from joined


def _meter_starts(bars: TempoMap, start: Fraction, end: Fraction) -> list[Fraction]:
    places = (bars.bar_start(change.bar) for change in bars.meters[1:])
    return [at for at in places if start < at < end]


def _round(record: Pattern, start: Fraction, end: Fraction, bars: TempoMap) -> Iterator[DrumStroke]:
    """A pattern from a place on, round and round; it is counted from the beginning of its bar."""
    point = bars.point_at(start)
    meter = bars.meter_at(point.bar)
    try:
        pattern = read_kit(record.line, record.grid, meter, record.feel)
    except LogbookError as error:
        raise LogbookError(f"pattern {record.label}: {error.problem}", error.remedy) from error
    counted_from = bars.bar_start(point.bar) if point.bar >= 1 else bars.pickup - meter.bar_length
    hits = pattern.hits()
    at = counted_from + (start - counted_from) // pattern.length * pattern.length
    while at < end:
        for hit in hits:
            if start <= at + hit.start < end:
                yield DrumStroke(at + hit.start, pattern.grid, hit)
        at += pattern.length


def drum_notes(place: PartView, bars: TempoMap, end: Fraction | None = None) -> tuple[Note, ...]:
    """Return a drum part as notes of the percussion key map; a flam has its grace note."""
    found = []
    for each in drum(place, bars, end):
        cell = each.hit.cell
        note = Note(
            each.start,
            each.start + each.length,
            (each.midi,),
            each.midi,
            0,
            accent=cell == "X",
            soft=_SOFT.get(cell, 0),
        )
        if cell == "f" and each.start >= FLAM_LEAD:
            found.append(note._replace(start=each.start - FLAM_LEAD, end=each.start, soft=1))
        found.append(note)
    return tuple(sorted(found, key=lambda note: (note.start, note.midi)))
