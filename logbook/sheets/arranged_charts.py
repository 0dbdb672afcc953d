"""A part's chart as plain lines: its bars by section, in rows of four.

Conventions. A bar with one chord from its first beat is that name; otherwise its written beats
are told off, a dot where nothing new begins: `Cadd9 . Dsus4 .`. A chord between the beats says
where: `Am7@5/2`. A bar in which a chord goes on is a dot, one of rest a dash.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from textwrap import wrap

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.parts import PartPlan
from logbook.arranging.performance import readable_positions
from logbook.arranging.transposing import (
    chords_of,
    part_interval,
    written_name,
    written_names,
    written_note,
)
from logbook.records.context import meters_of
from logbook.records.parts import ChartEntry
from logbook.strings.sounding import played_midi

BARS_A_ROW = 4
_GOES_ON, _RESTS = ".", "-"


def chart_lines(arranged: ArrangedVersion, plan: PartPlan, width: int = 80) -> list[str]:
    """Return the chart of a part that is played, at written pitch, by section."""
    if plan.part is None:
        return []
    bars = _bars(arranged, plan)
    if not any(text not in (_GOES_ON, _RESTS) for text in bars.values()):
        return []
    passages = arranged.form.passages
    rows: list[tuple[str, list[int]]] = []
    met: set[int] = set()
    if 0 in bars:
        rows.append(("pick-up", [0]))
    for passage in passages:
        numbers = list(range(max(passage.start, 1), passage.end))
        met.update(numbers)
        rows.append((cut(passage.name), numbers))
    outside = [bar for bar in sorted(bars) if bar not in met and bar > 0]
    if outside:
        rows.append(("outside" if passages else "", outside))
    labels = max((len(name) for name, _ in rows), default=0)
    cell = max((len(text) for text in bars.values()), default=1)
    per_row = BARS_A_ROW
    while per_row > 1 and labels + 8 + per_row * (cell + 3) > width:
        per_row //= 2
    lines: list[str] = []
    for name, numbers in rows:
        lines += _section(name.ljust(labels), numbers, bars, cell, per_row)
    return lines


def cut(name: str, size: int = 24) -> str:
    """A name that leaves room on the page for what is said of it."""
    return name if len(name) <= size else name[: size - 3] + "..."


def _section(
    label: str, numbers: list[int], bars: Mapping[int, str], cell: int, per_row: int
) -> Iterator[str]:
    for at in range(0, len(numbers), per_row):
        row = numbers[at : at + per_row]
        head = label if at == 0 else " " * len(label)
        cells = " | ".join(bars.get(bar, _RESTS).ljust(cell) for bar in row)
        yield f"  {head} {row[0]:>3} | {cells} |"


def _bars(arranged: ArrangedVersion, plan: PartPlan) -> dict[int, str]:
    """What stands in each bar."""
    names = written_names(arranged, plan)
    meters = meters_of(arranged.version)
    entries: dict[int, list[ChartEntry]] = {}
    for entry in chords_of(arranged, plan).chart:
        entries.setdefault(entry.bar, []).append(entry)
    passages = arranged.form.passages
    wanted = set(entries) | {bar for each in passages for bar in range(each.start, each.end)}
    if not passages and entries:
        wanted |= set(range(1, max(entries)))
    playing = False
    bars: dict[int, str] = {}
    for bar in sorted(wanted):
        here = sorted(entries.get(bar, ()), key=lambda each: Fraction(each.beat))
        beats = next((m.meter.beats for m in reversed(meters) if m.bar <= max(bar, 1)), 4)
        bars[bar] = _bar(here, names, beats, playing=playing) if bar or here else _RESTS
        if here:
            playing = bool(here[-1].voicing)
    if not entries.get(0):
        bars.pop(0, None)
    return bars


def _bar(entries: list[ChartEntry], names: Mapping[str, str], beats: int, *, playing: bool) -> str:
    if not entries:
        return _GOES_ON if playing else _RESTS
    told = {Fraction(each.beat): _name(each, names) for each in entries}
    if list(told) == [Fraction(1)]:
        return told[Fraction(1)]
    if all(beat.denominator == 1 for beat in told):
        first = min(told) if not playing and entries[0].bar == 0 else Fraction(1)
        return " ".join(told.get(Fraction(beat), _GOES_ON) for beat in range(int(first), beats + 1))
    return " ".join(name if beat == 1 else f"{name}@{beat}" for beat, name in told.items())


def _name(entry: ChartEntry, names: Mapping[str, str]) -> str:
    return names.get(entry.voicing, entry.voicing) or _RESTS


def voicing_lines(arranged: ArrangedVersion, plan: PartPlan, width: int = 80) -> list[str]:
    """Return the voicings of a part: frets, fingers and notes, written ones where they differ.

    An octave is no difference here: the notes of guitar and bass are told as they sound.
    """
    if plan.part is None or plan.after is None or not plan.part.voicings:
        return []
    interval = part_interval(arranged, plan)
    if interval.semitones % 12 == 0:
        interval = interval._replace(semitones=0)
    positions = readable_positions(plan.part, plan.after.tuning)
    rows = []
    for voicing in plan.part.voicings:
        position = positions.get(voicing.label)
        midi = played_midi(position, plan.after.tuning) if position else ()
        rows.append(
            (
                written_name(voicing.name or voicing.label, arranged.key, interval),
                voicing.frets,
                voicing.fingers if any(each.isalnum() for each in voicing.fingers) else "",
                " ".join(written_note(note, arranged.key, interval) for note in midi),
            )
        )
    wide = [max(len(row[column]) for row in rows) for column in range(3)]
    counted = plan.part.counted
    notes = "as written" if interval.semitones else "as they sound"
    lines = wrap(
        f"Voicings: frets from the {counted}, fingers, notes {notes}",
        width, initial_indent="  ", subsequent_indent="    ",
    )  # fmt: skip
    for row in rows:
        front = "  ".join(cell.ljust(size) for cell, size in zip(row[:3], wide, strict=True))
        line = f"    {front}  {row[3]}".rstrip()
        lines.append(line if len(line) <= width else f"    {front}".rstrip())
    return lines
