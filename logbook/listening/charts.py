"""A chart as it was heard: what begins where, how sure, and the sections that repeat.

What is heard is told as records of the log, so that it can be written as a session file has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from logbook.listening.following import LaidBar
from logbook.listening.line_chart import PlacedNote
from logbook.listening.sections import HeardSection, find_sections
from logbook.listening.stretches import StretchReading
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry, Voicing


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardEntry:
    """One stretch of the chart as heard.

    label: what the chart calls it, "" where nothing sounds. reading: the best one; second: the
    next one and what it would be called, told where the first is doubtful.
    """

    bar: int
    beat: Fraction
    label: str
    reading: StretchReading | None
    second: tuple[str, StretchReading] | None
    doubtful: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardChart:
    """A chart as heard: entries in order, the voicings it needs, new ones among them, sections.

    sections are found where the form is not logged, else empty. key: the song's, or the likely one.
    notes: for a single line without strings, every note at its place; else None.
    """

    entries: tuple[HeardEntry, ...]
    new: tuple[Voicing, ...]
    sections: tuple[HeardSection, ...]
    key: str
    sure: dict[str, float]
    notes: tuple[PlacedNote, ...] | None = None

    def chart(self) -> tuple[ChartEntry, ...]:
        """The entries as the log has them: what goes on is not said again within a bar."""
        out: list[ChartEntry] = []
        for entry in self.entries:
            out.append(ChartEntry(bar=entry.bar, beat=str(entry.beat), voicing=entry.label))
        return tuple(out)


def heard_sections(
    place: PartView, entries: Sequence[HeardEntry], bars: Sequence[LaidBar]
) -> tuple[HeardSection, ...]:
    """The sections by what repeats, where the form is not logged."""
    if place.version.form:
        return ()
    by_bar: dict[int, list[tuple[Fraction, str]]] = {bar.bar: [] for bar in bars if bar.bar > 0}
    for entry in entries:
        if entry.bar in by_bar:
            by_bar[entry.bar].append((entry.beat, entry.label))
    numbers = sorted(by_bar)
    if not numbers:
        return ()
    return find_sections([tuple(by_bar[n]) for n in numbers], numbers[0])
