"""A chord diagram in characters.

Strings stand side by side, the bass side on the left, and every line below the nut or the whole
capo is one fret. On the left stands the fret from the nut, on the right the fret from the capo.
Above the strings: x not played, o open, ~ may ring. On the strings: the finger (or a dot where
it is not known), joined where it lies across; a diamond for a harmonic; a bar where a partial
capo holds the string down.
"""

from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import NamedTuple

from logbook.strings.capo import Capos, covers, whole_capo, write_capos
from logbook.strings.frets import Fingers, Position
from logbook.strings.stretch import fingered_frets
from logbook.strings.tunings import StringTuning

LEGEND = "x not played, o open, ~ may ring; fingers 1 to 4, T thumb; frets from the nut on the left"
LEGEND_CAPO = LEGEND + ", from the capo on the right"

_LEAST_ROWS = 4
_MOST_ROWS_FROM_STOP = 5


class Signs(NamedTuple):
    """The characters a diagram is drawn with."""

    string: str
    across: str
    nut: str
    capo: str
    partial: str
    broken: str
    dot: str
    harmonic: str


LINES = Signs("│", "─", "═", "▀", "▬", "┄", "●", "◇")
ASCII = Signs("|", "-", "=", "#", "#", ".", "*", "<")


def draw(
    position: Position,
    tuning: StringTuning,
    capos: Capos = (),
    *,
    fingers: Fingers | None = None,
    title: Sequence[str] = (),
    signs: Signs = LINES,
) -> tuple[str, ...]:
    """Return the lines of one diagram, all of the same width, `title` lines first."""
    held = fingers or (None,) * len(position)
    whole = whole_capo(tuning, capos)
    top = whole or 0
    first, last = _window(position, top)
    lines = [*title, _marks(position, top, whole)]
    lines.append(_edge(len(position), top, whole, first, signs))
    partial = () if whole is not None else capos
    for fret in range(first, last + 1):
        row = _row(position, held, tuning, partial, fret, signs)
        right = f" {fret - top}" if top else ""
        lines.append(f"{fret:>4} {row}{right}")
    if partial:
        lines.append(f"     capo {write_capos(partial)}")
    width = max(map(len, lines))
    return tuple(line.ljust(width) for line in lines)


def _window(position: Position, top: int) -> tuple[int, int]:
    """Return the first and the last fret drawn, from the nut."""
    frets = fingered_frets(position)
    high = max(frets, default=top)
    near = high <= top + _MOST_ROWS_FROM_STOP
    first = top + 1 if near else min(frets)
    return first, max(high, first + _LEAST_ROWS - 1)


def _marks(position: Position, top: int, whole: int | None) -> str:
    signs = []
    for at in position:
        if at is None:
            signs.append("x")
        elif at.may_ring:
            signs.append("~")
        else:
            signs.append(" " if at.fingered else "o")
    left, right = (" nut", " capo") if top and whole else ("    ", "")
    return f"{left} {' '.join(signs)}{right}"


def _edge(count: int, top: int, whole: int | None, first: int, signs: Signs) -> str:
    width = 2 * count - 1
    if first > top + 1:
        return "     " + signs.broken * width
    if top and whole:
        return f"{top:>4} {signs.capo * width} capo"
    return f" nut {signs.nut * width}"


def _row(
    position: Position,
    fingers: Fingers,
    tuning: StringTuning,
    partial: Capos,
    fret: int,
    signs: Signs,
) -> str:
    count = len(position)
    across = _across(position, fingers, fret)
    row = ""
    for index, at in enumerate(position):
        if index:
            row += signs.across if index in across else " "
        number = count - index
        if at is not None and at.fingered and at.fret == fret:
            row += signs.harmonic if at.harmonic else fingers[index] or signs.dot
        elif any(capo.fret == fret and covers(capo, number) for capo in partial):
            row += signs.partial
        elif index in across and index + 1 in across:
            row += signs.across
        elif fret <= tuning.strings[index].start:
            row += " "
        else:
            row += signs.string
    return row


def _across(position: Position, fingers: Fingers, fret: int) -> set[int]:
    """Return the gaps (before string n, low to high from 0) that a finger lies across."""
    held: dict[str, list[int]] = {}
    for index, (at, finger) in enumerate(zip(position, fingers, strict=True)):
        if finger is not None and at is not None and at.fret == fret and at.fingered:
            held.setdefault(finger, []).append(index)
    return {gap for strings in held.values() for gap in range(strings[0] + 1, strings[-1] + 1)}


def side_by_side(
    diagrams: Iterable[Sequence[str]], *, width: int = 80, gap: int = 2
) -> tuple[str, ...]:
    """Return diagrams set side by side, as many in a row as `width` columns hold.

    Rows are parted by an empty line; no line ends in blanks.
    """
    rows: list[list[Sequence[str]]] = []
    used = 0
    for diagram in diagrams:
        wide = max(map(len, diagram), default=0)
        if rows and used + gap + wide <= width:
            rows[-1].append(diagram)
            used += gap + wide
        else:
            rows.append([diagram])
            used = wide
    lines: list[str] = []
    for row in rows:
        if lines:
            lines.append("")
        widths = [max(map(len, diagram), default=0) for diagram in row]
        for parts in zip_longest(*row, fillvalue=""):
            line = (" " * gap).join(
                part.ljust(wide) for part, wide in zip(parts, widths, strict=True)
            )
            lines.append(line.rstrip())
    return tuple(lines)
