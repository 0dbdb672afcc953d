"""Tablature of a part that plays one note at a time: a line a string, the frets where they fall.

The highest string is on top, frets are counted from the nut (common practice, no source). A note
that goes on is a dash, a bar line ends each bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from logbook.sheets.blocks import Tab, TabSection
from logbook.sheets.charts import BARS_A_ROW, REST, ChartBar, ChartSection, upbeat_of
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
    upbeat = upbeat_of(played)
    finest = max((_beats_a_whole(bar) for each in played for bar in _bars(each)), default=1)
    sections = []
    for section in played[1:] if upbeat else played:
        systems = _systems(_bars(section), finest)
        # A pick-up is a short bar before the first one, not a line of its own.
        systems[0], upbeat = [*upbeat, *systems[0]], ()
        sections.append(
            TabSection(
                section.name or "outside the form",
                section.bars,
                tuple(_lines(row, notes, names, finest) for row in systems),
            )
        )
    return Tab(tuple(sections))


def _bars(section: ChartSection) -> list[ChartBar]:
    return [bar for row in section.rows for bar in row]


def _systems(bars: Sequence[ChartBar], finest: int) -> list[Sequence[ChartBar]]:
    """The bars in lines that fit a narrow page, four at most."""
    widest = max((bar.beats - bar.first_beat + 1) * _steps(bar, finest) * _SLOT + 2 for bar in bars)
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
    row: Sequence[ChartBar], notes: dict[str, tuple[int, str]], names: Sequence[str], finest: int
) -> tuple[str, ...]:
    wide = max(map(len, names), default=1)
    lines = [f"{name.ljust(wide)}|" for name in names]
    for bar in row:
        cells = _bar(bar, notes, len(names), finest)
        lines = [line + cell + "|" for line, cell in zip(lines, cells, strict=True)]
    return tuple(lines)


def _beats_a_whole(bar: ChartBar) -> int:
    """How many written beats make a whole note: 8 in 7/8, 4 where no meter is known."""
    below = bar.meter.rpartition("/")[2]
    return int(below) if below.isdecimal() else 4


def _steps(bar: ChartBar, finest: int) -> int:
    """How many places a written beat has: one for the shortest written beat of the chart.

    Where a chord begins between beats there are two at least.
    """
    steps = max(finest // _beats_a_whole(bar), 1)
    between = any(Fraction(chord.beat).denominator > 1 for chord in bar.chords)
    return max(steps, 2) if between else steps


def _bar(bar: ChartBar, notes: dict[str, tuple[int, str]], strings: int, finest: int) -> list[str]:
    beats = bar.beats - bar.first_beat + 1
    steps = _steps(bar, finest)
    slots = [["" for _ in range(beats * steps)] for _ in range(strings)]
    for chord in bar.chords:
        place = int((Fraction(chord.beat) - bar.first_beat) * steps)
        string, fret = notes.get(chord.label, (-1, "?"))
        if chord.concert != REST and 0 <= string < strings and 0 <= place < len(slots[0]):
            slots[string][place] = fret
    return ["-" + "".join(slot.ljust(_SLOT, "-") for slot in line) for line in slots]
