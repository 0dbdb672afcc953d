"""The cells of a picking-hand pattern: what falls on one grid step, and how it is written.

The notation is told in `logbook.strings.picking`.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError

STROKE_NAMES = {
    "D": "strum down",
    "U": "strum up",
    "d": "muted strum down",
    "u": "muted strum up",
    "B": "bass string",
    "b": "other bass string",
    "p": "thumb",
    "i": "index",
    "m": "middle",
    "a": "ring",
    "P": "pinch",
    "x": "muted hit",
    "*": "hit, notes ringing",
    "r": "rest, strings stopped",
}
# The strokes that digits may follow, and those that brackets may hold.
TAKES_STRINGS = "DUduBbpimaP"
_TOGETHER = "Bbpimax*"
_CELL_FORMS = "use D U d u B b p i m a P x * . r, strings as digits, [] for several at once"


class Stroke(NamedTuple):
    """One thing the hand does: a letter of `STROKE_NAMES`, and the strings named for it, if any."""

    kind: str
    strings: tuple[int, ...] = ()

    @property
    def is_struck(self) -> bool:
        """Whether the hand strikes something; a rest only stops the strings."""
        return self.kind != "r"

    def __str__(self) -> str:
        return self.kind + "".join(map(str, self.strings))


class GridCell(NamedTuple):
    """One grid step: the strokes that fall on it together (none for "."), accented or not."""

    strokes: tuple[Stroke, ...] = ()
    accent: bool = False

    @property
    def is_struck(self) -> bool:
        """Whether the hand strikes something on this step."""
        return any(stroke.is_struck for stroke in self.strokes)

    def __str__(self) -> str:
        body = "".join(map(str, self.strokes)) or "."
        if len(self.strokes) > 1:
            body = f"[{body}]"
        return f">{body}" if self.accent else body


def read_cells(line: str) -> tuple[tuple[GridCell, ...], list[int]]:
    """Read the cells of a line, and after how many of them each bar line stands.

    Raises LogbookError naming the cell that cannot be read.
    """
    cells: list[GridCell] = []
    bar_lines: list[int] = []
    at = 0
    while at < len(line):
        if line[at].isspace():
            at += 1
        elif line[at] == "|":
            bar_lines.append(len(cells))
            at += 1
        else:
            cell, at = _read_cell(line, at)
            cells.append(cell)
    return tuple(cells), bar_lines


def _read_cell(line: str, at: int) -> tuple[GridCell, int]:
    """The cell that begins at `at`, and where the next thing begins."""
    accent = line[at] == ">"
    at += accent
    if line[at : at + 1] == ".":
        if accent:
            raise LogbookError(f'">." in "{line}" accents a step with no stroke', "drop the >")
        return GridCell(), at + 1
    if line[at : at + 1] != "[":
        stroke, at = _read_stroke(line, at)
        return GridCell((stroke,), accent), at
    end = line.find("]", at)
    if end < 0:
        raise LogbookError(f'"[" in "{line}" is never closed', "close it, as in [pm]")
    strokes: list[Stroke] = []
    at += 1
    while at < end:
        if line[at].isspace():
            at += 1
            continue
        stroke, at = _read_stroke(line, at)
        if stroke.kind not in _TOGETHER or any(stroke.kind == each.kind for each in strokes):
            raise LogbookError(
                f'"{stroke.kind}" does not go in brackets in "{line}"',
                "brackets hold different fingers, bass strings and hits, as in [pm] or [p5x]",
            )
        strokes.append(stroke)
    if not strokes:
        raise LogbookError(f'the brackets in "{line}" are empty', 'write "." for no stroke')
    return GridCell(tuple(strokes), accent), end + 1


def _read_stroke(line: str, at: int) -> tuple[Stroke, int]:
    kind = line[at : at + 1]
    if kind not in STROKE_NAMES:
        shown = f'"{kind}" in "{line}" is no stroke' if kind.strip() else f'"{line}" breaks off'
        raise LogbookError(shown, _CELL_FORMS)
    end = at + 1
    while end < len(line) and line[end].isascii() and line[end].isdecimal():
        end += 1
    strings = tuple(int(digit) for digit in line[at + 1 : end])
    if strings and (kind not in TAKES_STRINGS or 0 in strings):
        raise LogbookError(
            f'"{line[at:end]}" in "{line}" names strings it cannot strike',
            "strings are 1 (the highest) to 9, after D U d u B b p i m a or P",
        )
    if len(set(strings)) < len(strings):
        raise LogbookError(f'"{line[at:end]}" in "{line}" names a string twice', "name it once")
    return Stroke(kind, strings), end
