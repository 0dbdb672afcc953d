"""The cells of a picking-hand pattern: what falls on a grid step, and how it is written.

The notation is told in `logbook.strings.picking`.
"""

from __future__ import annotations

import re
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
    "c": "little finger",
    "P": "pinch",
    "T": "thumb slap",
    "O": "pop",
    "R": "rake",
    "h": "hammer-on",
    "l": "pull-off",
    "s": "slide up",
    "S": "slide down",
    "x": "muted hit",
    "*": "hit, notes ringing",
    "r": "rest, strings stopped",
}
SIGN_NAMES = {
    ">": "accent",
    "<": "soft",
    "( )": "ghost",
    "_": "palm mute",
    "{ }": "shares its steps evenly",
    "^": "begins before the bar",
    ".": "no stroke",
}
SOFT, GHOST = 1, 2
"""How much softer than usual a cell is played."""
LEGATO = "hlsS"
"""What the fretting hand does without a stroke of the other: the string has to be named."""
# The strokes that strings may follow, those that brackets may hold, and those that they may hold
# with strings named.
TAKES_STRINGS = "DUduBbpimacPTOR" + LEGATO
_TOGETHER = "BbpimacTOx*" + LEGATO
_TOGETHER_NAMED = "DU"
_CELL_FORMS = (
    "use D U d u B b p i m a c P T O R h l s S x * . r, strings as digits, [] for several at once"
)
_HIGHEST_STRING, _MOST_TIMES, _MOST_SHARED, _MOST_FRETS = 24, 64, 32, 12
_TIMES = re.compile(r"[x×](\d{1,3})(?=\s|\||$)", re.ASCII)


class Stroke(NamedTuple):
    """One thing the hand does: a letter of `STROKE_NAMES`, and the strings named for it, if any.

    `frets` is how far a hammer-on, pull-off or slide goes, 0 the usual way.
    """

    kind: str
    strings: tuple[int, ...] = ()
    frets: int = 0

    @property
    def is_struck(self) -> bool:
        """Whether the hand strikes something; a rest only stops the strings."""
        return self.kind != "r" and self.kind not in LEGATO

    def __str__(self) -> str:
        if any(string > 9 for string in self.strings):
            strings = "+".join(map(str, self.strings)) + ("+" if len(self.strings) == 1 else "")
        else:
            strings = "".join(map(str, self.strings))
        return self.kind + strings + (f"-{self.frets}" if self.frets else "")


class GridCell(NamedTuple):
    """What falls on a grid step: the strokes played together (none for "."), and how.

    `accent` is louder; `soft` is 0, SOFT or GHOST; `palm` says that the palm damps the strings.
    Cells in `split` share the time of `steps` steps evenly, and then there is nothing else.
    """

    strokes: tuple[Stroke, ...] = ()
    accent: bool = False
    soft: int = 0
    palm: bool = False
    split: tuple[GridCell, ...] = ()
    steps: int = 1

    @property
    def is_struck(self) -> bool:
        """Whether the hand strikes something on this step."""
        return any(stroke.is_struck for stroke in self.strokes) or any(
            cell.is_struck for cell in self.split
        )

    def __str__(self) -> str:
        if self.split:
            over = str(self.steps) if self.steps > 1 else ""
            return "{" + " ".join(map(str, self.split)) + "}" + over
        body = "".join(map(str, self.strokes)) or "."
        if len(self.strokes) > 1:
            body = f"[{' '.join(map(str, self.strokes))}]" if _is_long(self) else f"[{body}]"
        body = ("_" if self.palm else "") + body
        if self.soft == GHOST:
            return f"({body})"
        return (">" if self.accent else "<" if self.soft else "") + body


def _is_long(cell: GridCell) -> bool:
    """Whether strokes in brackets are easier to read with blanks between them."""
    return any(stroke.kind in _TOGETHER_NAMED for stroke in cell.strokes)


class StrokeLine(NamedTuple):
    """A line as read: `cells`, after how many steps each bar line stands, and the `lead` before."""

    cells: tuple[GridCell, ...]
    bar_lines: tuple[int, ...]
    lead: tuple[GridCell, ...] = ()


def steps_of(cells: tuple[GridCell, ...] | list[GridCell]) -> int:
    """Return how many grid steps cells last."""
    return sum(cell.steps for cell in cells)


def read_cells(line: str) -> tuple[tuple[GridCell, ...], list[int]]:
    """Read the cells of a line, and after how many steps each bar line stands.

    Raises LogbookError naming the cell that cannot be read.
    """
    read = read_stroke_line(line)
    return read.cells, list(read.bar_lines)


def read_stroke_line(line: str) -> StrokeLine:
    """Read a line of cells with bar lines, repeats ("x2") and what begins before the bar ("^").

    A repeat at the end of the line is of the whole line, one before a bar line is of its bar.
    Raises LogbookError naming what cannot be read.
    """
    cells: list[GridCell] = []
    lead: tuple[GridCell, ...] = ()
    bar_lines: list[int] = []
    at = since = 0
    while at < len(line):
        if line[at].isspace():
            at += 1
        elif line[at] == "|":
            bar_lines.append(steps_of(cells))
            since = len(cells)
            at += 1
        elif line[at] == "^":
            if lead or bar_lines or not cells:
                raise LogbookError(
                    f'"^" in "{line}" does not stand after what begins before the bar',
                    'write it once, before the first bar, as in "DU ^ D.DU .UDU"',
                )
            lead, cells = tuple(cells), []
            at += 1
        elif (times := _TIMES.match(line, at)) and (cells or lead) and line[at - 1].isspace():
            whole = not line[times.end() :].strip()
            _repeat(cells, bar_lines, 0 if whole else since, int(times[1]), line)
            at = times.end()
        else:
            cell, at = _read_cell(line, at)
            cells.append(cell)
    return StrokeLine(tuple(cells), tuple(bar_lines), lead)


def _repeat(cells: list[GridCell], bar_lines: list[int], since: int, times: int, line: str) -> None:
    """Play the cells from `since` on so often, their bar lines with them."""
    if not 2 <= times <= _MOST_TIMES or since == len(cells):
        raise LogbookError(
            f'"x{times}" in "{line}" repeats nothing',
            f"write x2 to x{_MOST_TIMES} after what is played so often",
        )
    again, first = cells[since:], steps_of(cells[:since])
    length = steps_of(again)
    inside = [place for place in bar_lines if first < place < first + length]
    for number in range(1, times):
        cells += again
        bar_lines += [place + number * length for place in inside]


def _read_cell(line: str, at: int) -> tuple[GridCell, int]:
    """The cell that begins at `at`, and where the next thing begins."""
    if line[at] == "{":
        return _read_split(line, at)
    if line[at] == "(":
        cell, end = _read_cell(line, at + 1) if line[at + 1 : at + 2] else (GridCell(), at + 1)
        if line[end : end + 1] != ")":
            raise LogbookError(f'"(" in "{line}" is never closed', "close it, as in (D)")
        if not cell.strokes or cell.accent or cell.soft:
            raise LogbookError(
                f'"{line[at : end + 1]}" in "{line}" is not a ghost stroke',
                "put one stroke without > or < between the signs, as in (D)",
            )
        return cell._replace(soft=GHOST), end + 1
    first = at
    accent = line[at] == ">"
    soft = SOFT if line[at] == "<" else 0
    at += accent or soft
    palm = line[at : at + 1] == "_"
    at += palm
    if line[at : at + 1] == ".":
        if accent or soft or palm:
            signs = line[first:at]
            verb = "accents" if accent else "marks"
            raise LogbookError(
                f'"{signs}." in "{line}" {verb} a step with no stroke', f"drop the {signs}"
            )
        return GridCell(), at + 1
    if line[at : at + 1] == "[":
        strokes, at = _read_together(line, at)
    else:
        stroke, at = _read_stroke(line, at)
        strokes = (stroke,)
    return GridCell(strokes, accent, soft, palm), at


def _read_split(line: str, at: int) -> tuple[GridCell, int]:
    end = line.find("}", at)
    if end < 0:
        raise LogbookError(f'"{{" in "{line}" is never closed', "close it, as in {DUD}2")
    inside = line[at + 1 : end]
    shared: list[GridCell] = []
    place = 0
    while place < len(inside):
        if inside[place].isspace():
            place += 1
            continue
        if inside[place] in "{|^":
            raise LogbookError(
                f'"{inside[place]}" does not go in braces in "{line}"',
                "braces hold strokes that share the time of a step or more, as in {DUD}2",
            )
        cell, place = _read_cell(inside, place)
        shared.append(cell)
    if not 2 <= len(shared) <= _MOST_SHARED:
        raise LogbookError(
            f'the braces in "{line}" hold {len(shared)} cell{"s" * (len(shared) != 1)}',
            f"put 2 to {_MOST_SHARED} in them, and how many steps they last after: {{DUD}}2",
        )
    digits = re.compile(r"[0-9]{0,3}").match(line, end + 1)
    written = digits[0] if digits else ""
    if written and not int(written):
        raise LogbookError(f'braces in "{line}" last no step', "write 1 or more, as in {DUD}2")
    return GridCell(split=tuple(shared), steps=int(written or 1)), end + 1 + len(written)


def _read_together(line: str, at: int) -> tuple[tuple[Stroke, ...], int]:
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
        named = stroke.kind in _TOGETHER_NAMED and stroke.strings
        if not (stroke.kind in _TOGETHER or named) or stroke.kind in [s.kind for s in strokes]:
            raise LogbookError(
                f'"{stroke.kind}" does not go in brackets in "{line}"',
                "brackets hold different fingers, bass strings and hits, as in [pm] or [p5x], "
                "and a pick on strings that are named, as in [D5 m3]",
            )
        strokes.append(stroke)
    if not strokes:
        raise LogbookError(f'the brackets in "{line}" are empty', 'write "." for no stroke')
    return tuple(strokes), end + 1


_STRINGS = re.compile(r"(?:([0-9]+(?:\+[0-9]+)+|[0-9]+)(\+?))?(?:-([0-9]{1,2}))?", re.ASCII)


def _read_stroke(line: str, at: int) -> tuple[Stroke, int]:
    kind = line[at : at + 1]
    if kind not in STROKE_NAMES:
        shown = f'"{kind}" in "{line}" is not a stroke' if kind.strip() else f'"{line}" breaks off'
        raise LogbookError(shown, _CELL_FORMS)
    found = _STRINGS.match(line, at + 1)
    end = at + 1 if found is None else found.end()
    written, plus, frets = ("", "", None) if found is None else found.groups()
    written = written or ""
    numbers = written.split("+") if plus or "+" in written else list(written)
    strings = tuple(int(number[:4]) for number in numbers)
    shown = line[at:end]
    if strings and (
        kind not in TAKES_STRINGS or not all(1 <= each <= _HIGHEST_STRING for each in strings)
    ):
        raise LogbookError(
            f'"{shown}" in "{line}" names strings it cannot strike',
            "strings are 1 (the highest) to 9 after D U d u B b p i m a c P T O R h l s or S, "
            "10 and up with a plus sign: p10+ or D11+10",
        )
    if len(set(strings)) < len(strings):
        raise LogbookError(f'"{shown}" in "{line}" names a string twice', "name it once")
    if kind in LEGATO and not strings:
        raise LogbookError(
            f'"{kind}" in "{line}" does not say on which string',
            f"name it: {kind}4, or {kind}4-2 for two frets",
        )
    if frets is not None and (kind not in LEGATO or not 1 <= int(frets) <= _MOST_FRETS):
        raise LogbookError(
            f'"{shown}" in "{line}" goes a way it cannot',
            f"a hammer-on, pull-off or slide goes 1 to {_MOST_FRETS} frets, as in h4-2",
        )
    return Stroke(kind, strings, int(frets or 0)), end
