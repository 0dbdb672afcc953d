"""The chart as text: bars in rows of four, what sounds over the shape the hands play."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from logbook.sheets.blocks import Chart
from logbook.sheets.charts import BARS_A_ROW, REST, ChartBar, ChartChord, ChartSection, Sung
from logbook.sheets.folded import Folded
from logbook.sheets.folding import fold
from logbook.sheets.lines import (
    FAINT,
    NAME,
    WORDS,
    Line,
    cell_len,
    cut,
    padded,
    plain,
    widest,
    wrapped,
)
from logbook.sheets.looks import Look
from logbook.sheets.signs import with_dashes, with_signs

_NUMBER_WIDTH = 5
_LEAST_WIDTH = 11
_SLASHED_BEATS = 9
HELD, SLASH, SILENT = "·", "╱", "-"

Column = tuple[int, int]
"""Where what stands in a bar begins in a line, and how wide it is."""

Cell = tuple[str, str, str]
"""What stands in a bar: concert names, shape names, labels, aligned."""


class _LaidBars(NamedTuple):
    """A section with its bars as they are set: how many in a row, and how wide the widest is.

    `lead` is how much a pick-up takes before its first bar.
    """

    folded: Folded
    cells: Mapping[int, Sequence[Cell]]
    a_row: int
    needed: int
    lead: int = 0

    @property
    def rows(self) -> list[tuple[int, Sequence[ChartBar]]]:
        """Its rows without a pick-up, each with the number of the ending it belongs to, or 0."""
        section = self.folded.section
        return [
            (self.folded.ending_of(number), row)
            for number, row in enumerate((*section.rows, *self.folded.endings))
        ]


def chart_lines(chart: Chart, look: Look) -> list[Line]:
    """Return the chart, section by section; rows of four bars, or fewer where room is short.

    A crowded bar goes on below itself before a row is made shorter for it, but no chord is parted
    from its slashes. Sections with as many bars in a row have them in the same columns.
    """
    shapes = chart.with_shapes and look.big == "shapes"
    laid = [_laid(each, look, shapes=shapes) for each in fold(chart.sections)]
    stroke = "|" if look.ascii else "│"
    shown = [0, *([1] if chart.with_shapes else []), *([2] if chart.with_labels else [])]
    lines: list[Line] = []
    for each in laid:
        if lines:
            lines.append(())
        lines += _section_head(each.folded, look)
        if not each.folded.section.has_bars:
            continue
        needed = max(other.needed for other in laid if other.a_row == each.a_row)
        needed = min(needed, max(_room(look, each.a_row, each.lead), each.needed))
        upbeat = each.folded.upbeat
        for ending, row in each.rows:
            if ending:
                lines.append(plain(f"  {ending}. ending", FAINT))
            for at in range(0, len(row), each.a_row):
                here = tuple(row[at : at + each.a_row])
                columns = _columns(len(here), needed, each.lead)
                if upbeat:
                    here, columns = (*upbeat, *here), [(_NUMBER_WIDTH + 2, each.lead - 2), *columns]
                    upbeat = ()
                lines += _over(here, columns, look)
                lines += _row(here, each.cells, columns, shown, stroke)
                lines += _tune(here, columns, stroke)
                lines += _under(here, columns, look)
    return lines


def _columns(count: int, width: int, lead: int) -> list[Column]:
    return [(_NUMBER_WIDTH + 2 + lead + place * (width + 2), width) for place in range(count)]


def _laid(folded: Folded, look: Look, *, shapes: bool) -> _LaidBars:
    """Set a section; where `shapes` are the larger names, they stand above what sounds."""
    tokens = {
        bar.bar: [
            (shape, concert, label) if shapes and shape else (concert, shape, label)
            for concert, shape, label in bar_tokens(bar, starts_row=bar is row[0])
        ]
        for row in folded.rows
        for bar in row
    }
    cells = {bar: [_joined(each)] for bar, each in tokens.items()}
    before = {bar.bar: cells.pop(bar.bar) for bar in folded.upbeat}
    tokens = {bar: each for bar, each in tokens.items() if bar not in before}
    lead = widest(text for each in before.values() for text in each[0]) + 3 if before else 0
    needed = _needed(cells)
    a_row = BARS_A_ROW
    while needed > (room := _room(look, a_row, lead)):
        below = {bar: _folded(each, room - 1) for bar, each in tokens.items()}
        if _needed(below) <= room:
            cells, needed = below, room
        elif a_row > 1:
            a_row //= 2
        else:
            cells, needed = below, room
    return _LaidBars(folded, {**before, **cells}, a_row, needed, lead)


def _room(look: Look, a_row: int, lead: int = 0) -> int:
    """The width of a bar where so many stand in a row after `lead`."""
    return (look.width - _NUMBER_WIDTH - 1 - lead) // a_row - 2


def _needed(cells: Mapping[int, Sequence[Cell]]) -> int:
    texts = (text for folds in cells.values() for cell in folds for text in cell)
    return max(widest(texts), _LEAST_WIDTH) + 1


def _folded(tokens: Sequence[Cell], width: int) -> list[Cell]:
    """Set a bar's chords on as many lines as they need, each with the slashes that follow it.

    One wider than that stands alone.
    """
    chords: list[list[Cell]] = []
    for token in tokens:
        if chords and token[0] in (SLASH, SILENT):
            chords[-1].append(token)
        else:
            chords.append([token])
    lines: list[list[Cell]] = []
    for chord in chords:
        if lines and widest(_joined([*lines[-1], *chord])) <= width:
            lines[-1] += chord
        else:
            lines.append(chord)
    return [_joined(line) for line in lines]


def _section_head(folded: Folded, look: Look) -> list[Line]:
    section = folded.section
    name = section.name or "outside the form"
    word = "bars" if "-" in section.bars else "bar"
    about = f", {word} {with_dashes(section.bars)}{fold_said(folded)}{_about(section)}"
    lines: list[Line]
    if cell_len(name + about) <= look.width:
        lines = [((name, NAME), (about, FAINT))]
    else:
        lines = [plain(row, NAME) for row in wrapped(name + about, look.width)]
    return lines + [plain(f"  {row}") for row in wrapped(section.said, look.width - 2)]


def fold_said(folded: Folded) -> str:
    """How often a section is played, which other bars it is, and the signs at it."""
    said = f" x{folded.times}" if folded.times > 1 else ""
    if folded.again:
        word = "bars" if any("-" in bars for bars in folded.again) or folded.again[1:] else "bar"
        said += f", again {word} {with_dashes(', '.join(folded.again))}"
    if folded.jumped:
        said += f", after the jump {with_dashes(', '.join(folded.jumped))} with the last ending"
    return said + "".join(f", {sign}" for sign in folded.signs)


def _about(section: ChartSection) -> str:
    about = section_about(section)
    return f": {about}" if about else ""


def section_about(section: ChartSection) -> str:
    """That the part does not play or is not charted, or which patterns take over in the section."""
    if not section.charted:
        return "not charted yet"
    if section.tacet:
        return "tacet"
    if section.tune:
        return "melody alone"
    first = section.rows[0][0].bar
    changes = [(bar.bar, bar.pattern) for row in section.rows for bar in row if bar.pattern]
    said = [name if bar == first else f"{name} from bar {bar}" for bar, name in changes]
    return f"pattern {', '.join(said)}" if said else ""


def _over(bars: Sequence[ChartBar], columns: Sequence[Column], look: Look) -> list[Line]:
    """What stands over the bars of a row, each where its bar begins: meter, tempo, remarks."""
    rows: list[str] = []
    for (left, _), bar in zip(columns, bars, strict=True):
        text = bar.said
        if not text:
            continue
        indent = max(min(left, look.width - cell_len(text)), 0)
        first, *more = wrapped(text, look.width - indent)
        # One line holds what stands over several bars, as long as nothing touches.
        if not rows or more or indent < left or cell_len(rows[-1]) + 2 > indent:
            rows.append("")
        rows[-1] = padded(rows[-1], indent) + first
        rows += [" " * indent + row for row in more]
    return [plain(row, FAINT) for row in rows]


def _tune(bars: Sequence[ChartBar], columns: Sequence[Column], stroke: str) -> list[Line]:
    """The notes of the melody, each bar's below its chords, on as many lines as they need."""
    held = [wrapped(bar.tune, width - 1) for bar, (_, width) in zip(bars, columns, strict=True)]
    return [
        plain(
            " " * (columns[0][0] - 2)
            + "".join(
                f"{stroke} {padded(rows[at] if at < len(rows) else '', width)}"
                for rows, (_, width) in zip(held, columns, strict=True)
            )
            + stroke,
            WORDS,
        )
        for at in range(max(map(len, held)))
    ]


def _under(bars: Sequence[ChartBar], columns: Sequence[Column], look: Look) -> list[Line]:
    """The words that are sung, each line below where it begins; a verse below the other."""
    lines: list[Line] = []
    for verse in sorted({sung.verse for bar in bars for sung in bar.words}):
        rows: list[str] = []
        number = f"{verse}. " if verse else ""
        for (left, width), bar in zip(columns, bars, strict=True):
            for sung in (each for each in bar.words if each.verse == verse):
                said, number = number + sung.text, ""
                at = left + int(word_place(bar, sung) * width)
                at = max(min(at, look.width - cell_len(said)), _NUMBER_WIDTH + 2)
                if not rows or cell_len(rows[-1]) > at - 2 * (at > left):
                    rows.append("")
                first, *more = wrapped(said, look.width - at)
                rows[-1] = padded(rows[-1], at) + first
                rows += [" " * at + each for each in more]
        lines += [plain(row, WORDS) for row in rows]
    return lines


def word_place(bar: ChartBar, sung: Sung) -> Fraction:
    """Where in a bar, from 0 up to 1, words begin."""
    into = Fraction(sung.beat) - bar.first_beat
    return min(max(into / (bar.beats - bar.first_beat + 1), Fraction(0)), Fraction(99, 100))


def _row(
    bars: Sequence[ChartBar],
    cells: Mapping[int, Sequence[Cell]],
    columns: Sequence[Column],
    shown: Sequence[int],
    stroke: str,
) -> list[Line]:
    lines: list[Line] = []
    for line in range(max(len(cells[bar.bar]) for bar in bars)):
        here = [cells[bar.bar][line : line + 1] or [("", "", "")] for bar in bars]
        for place in shown:
            first = not line and place == 0
            number = f"{bars[0].bar:>{_NUMBER_WIDTH - 1}} " if first else " " * _NUMBER_WIDTH
            number = padded(number, columns[0][0] - 2)
            text = "".join(
                f"{stroke} {padded(cut(cell[place], width), width)}"
                for (cell,), (_, width) in zip(here, columns, strict=True)
            )
            lines.append(((number, FAINT), (text + stroke, NAME if place == 0 else "")))
    return lines


def bar_tokens(bar: ChartBar, *, starts_row: bool) -> list[Cell]:
    """Return the chords of a bar as they stand in it; in a split bar a slash for each other beat.

    Where a row starts, a chord that goes on from before is named again.
    """
    held = bar.held
    if not bar.chords:
        if held is None:
            return [(SILENT, SILENT, SILENT)]
        return [_names(held) if starts_row else (HELD, HELD, HELD)]
    tokens: list[Cell] = []
    if held is not None:
        tokens.append(_names(held) if starts_row else (HELD, HELD, HELD))
    alone = len(bar.chords) == 1 and held is None
    if alone and bar.chords[0].beat == str(bar.first_beat):
        return [_names(bar.chords[0])]
    if pulses := _pulses(bar):
        return _with_slashes(bar, tokens, pulses)
    for chord in bar.chords:
        concert, shape, label = _names(chord)
        at = "" if chord.beat == "1" else f"@{chord.counted}"
        tokens.append((f"{concert}{at}", shape, label))
    return tokens


def _pulses(bar: ChartBar) -> range | None:
    """The beats of a bar that its chords can be told off by, None where they cannot."""
    if not all(chord.beat.isdecimal() for chord in bar.chords):
        return None
    for step in dict.fromkeys((bar.pulse, 1)):
        pulses = range(bar.first_beat, bar.beats + 1, step)
        if len(pulses) <= _SLASHED_BEATS and all(int(each.beat) in pulses for each in bar.chords):
            return pulses
    return None


def _with_slashes(bar: ChartBar, before: list[Cell], pulses: range) -> list[Cell]:
    at_beat = {int(chord.beat): _names(chord) for chord in bar.chords}
    tokens = []
    resting = bar.held is None or bar.held.concert == REST
    for beat in pulses:
        if beat in at_beat:
            resting = at_beat[beat][0] == REST
        elif beat == bar.first_beat and before:
            tokens.append(before[0])
            continue
        tokens.append(at_beat.get(beat, (SILENT if resting else SLASH, "", "")))
    return tokens


def _names(chord: ChartChord) -> Cell:
    if chord.concert == REST:
        return (REST, REST, REST)
    return (with_signs(chord.concert), with_signs(chord.shape) or "?", chord.own_label)


def _joined(tokens: Sequence[Cell]) -> Cell:
    """Set tokens beside each other so that the names of one chord start in one column."""
    rows = ["", "", ""]
    for token in tokens:
        width = widest(token) + 1
        for place, text in enumerate(token):
            rows[place] += padded(text, width)
    return (rows[0].rstrip(), rows[1].rstrip(), rows[2].rstrip())
