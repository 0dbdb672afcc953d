"""Tablature of a part that plays one note at a time: a line a string, the frets where they fall.

The highest string is on top, frets are counted from the nut (common practice, no source). A note
that goes on is a dash, a bar line ends each bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from logbook.sheets.blocks import Tab, TabSection
from logbook.sheets.charts import BARS_A_ROW, PICKUP, REST, ChartBar, ChartSection
from logbook.sheets.chords import ChordCard
from logbook.sheets.rigs import StringLine
from logbook.strings.frets import Stopped

_SLOT, _WIDEST = 3, 66


def is_single_notes(cards: Sequence[ChordCard]) -> bool:
    """Whether every voicing of a part that can be drawn is one note."""
    drawn = [card.drawn for card in cards if card.drawn is not None]
    return bool(drawn) and all(len(voicing.midi) == 1 for voicing in drawn)


def tablature(
    chart: Sequence[ChartSection], cards: Sequence[ChordCard], strings: Sequence[StringLine]
) -> Tab:
    """Return the chart as tablature on these strings."""
    notes = {card.label: _note(card) for card in cards}
    names = [each.open_note.rstrip("-0123456789") for each in reversed(strings)]
    played = [section for section in chart if section.charted and not section.tacet]
    upbeat: list[ChartBar] = []
    if len(played) > 1 and played[0].name == PICKUP and played[0].has_bars:
        upbeat = [bar for row in played.pop(0).rows for bar in row]
    sections = []
    for section in played:
        systems = _systems([bar for row in section.rows for bar in row])
        # A pick-up is a short bar before the first one, not a line of its own.
        systems[0], upbeat = [*upbeat, *systems[0]], []
        sections.append(
            TabSection(
                section.name or "outside the form",
                section.bars,
                tuple(_lines(row, notes, names) for row in systems),
            )
        )
    return Tab(tuple(sections))


def _systems(bars: Sequence[ChartBar]) -> list[Sequence[ChartBar]]:
    """The bars in lines that fit a narrow page, four at most."""
    widest = max((bar.beats - bar.first_beat + 1) * _steps(bar) * _SLOT + 2 for bar in bars)
    count = next((each for each in (BARS_A_ROW, 2) if each * widest <= _WIDEST), 1)
    return [bars[at : at + count] for at in range(0, len(bars), count)]


def _note(card: ChordCard) -> tuple[int, str]:
    """Which string from the top is played, and its fret."""
    if card.drawn is None:
        return -1, "?"
    for index, stopped in enumerate(card.drawn.position):
        if stopped is not None and not stopped.may_ring:
            return len(card.drawn.position) - 1 - index, str(_fret(stopped))
    return -1, "?"


def _fret(stopped: Stopped) -> int:
    return stopped.fret


def _lines(
    row: Sequence[ChartBar], notes: dict[str, tuple[int, str]], names: Sequence[str]
) -> tuple[str, ...]:
    wide = max(map(len, names), default=1)
    lines = [f"{name.ljust(wide)}|" for name in names]
    for bar in row:
        cells = _bar(bar, notes, len(names))
        lines = [line + cell + "|" for line, cell in zip(lines, cells, strict=True)]
    return tuple(lines)


def _steps(bar: ChartBar) -> int:
    """How many places a written beat is divided into."""
    return 2 if any(Fraction(chord.beat).denominator > 1 for chord in bar.chords) else 1


def _bar(bar: ChartBar, notes: dict[str, tuple[int, str]], strings: int) -> list[str]:
    beats = bar.beats - bar.first_beat + 1
    steps = _steps(bar)
    slots = [["" for _ in range(beats * steps)] for _ in range(strings)]
    for chord in bar.chords:
        place = int((Fraction(chord.beat) - bar.first_beat) * steps)
        string, fret = notes.get(chord.label, (-1, "?"))
        if chord.concert != REST and 0 <= string < strings and 0 <= place < len(slots[0]):
            slots[string][place] = fret
    return ["-" + "".join(slot.ljust(_SLOT, "-") for slot in line) for line in slots]
