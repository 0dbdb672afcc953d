"""A part's logged chart worked out: every stretch with its frets, and what listening hears it by.

Frets count from the nut, an open string is 0, None is not played; strings that only may ring, and
harmonics, are not counted as played, since hearing is not held to them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256

from logbook.errors import LogbookError
from logbook.records.part_view import PartView
from logbook.strings.frets import place_frets, read_frets
from logbook.timing.bars import BarPoint

Frets = tuple[int | None, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class ChartSpan:
    """A stretch of the logged chart: its place, label ("" for a rest) and frets from the nut."""

    bar: int
    beat: Fraction
    start: Fraction
    end: Fraction
    label: str
    frets: Frets | None


def voicing_frets(place: PartView) -> dict[str, Frets]:
    """Each voicing's frets from the nut; strings that only may ring are not counted as played.

    Voicings that cannot be read are left out.
    """
    tuning = place.tuning
    if tuning is None:
        return {}
    capos = place.capos
    out: dict[str, Frets] = {}
    for voicing in place.part.voicings:
        try:
            line = read_frets(voicing.frets, counted=voicing.counted or place.part.counted)
            position = place_frets(line, tuning, capos)
        except LogbookError:
            continue
        out[voicing.label] = tuple(
            None
            if at is None or at.may_ring or at.harmonic
            else at.fret
            if at.fret > at.stop
            else 0
            for at in position
        )
    return out


def chart_spans(place: PartView) -> tuple[ChartSpan, ...]:
    """The logged chart, stretch by stretch, to the end of the form."""
    tempo_map = place.bars
    frets = voicing_frets(place)
    entries = sorted(place.part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    if not entries:
        return ()
    ends = [section.start + section.bars for section in place.version.form]
    last = tempo_map.bar_start(max([*ends, entries[-1].bar + 1]))
    starts = [tempo_map.wholes_at(BarPoint(e.bar, Fraction(e.beat))) for e in entries]
    return tuple(
        ChartSpan(
            bar=entry.bar,
            beat=Fraction(entry.beat),
            start=start,
            end=after,
            label=entry.voicing,
            frets=frets.get(entry.voicing),
        )
        for entry, start, after in zip(entries, starts, [*starts[1:], last], strict=True)
        if start < after
    )


def basis_of(place: PartView, spans: Iterable[ChartSpan]) -> str:
    """What some stretches are held to be: tuning, capo, places and frets, as a short digest.

    While it stays the same, what was heard against them stands; when anything of it changes, it
    is worth nothing any more.
    """
    tuning = place.tuning
    said = [place.part.capo, "" if tuning is None else str([s.midi for s in tuning.strings])]
    said += [f"{each.start} {each.end} {each.frets}" for each in spans]
    return sha256("; ".join(said).encode()).hexdigest()[:16]
