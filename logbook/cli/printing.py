"""Printing what a command says: lines, tables, data.

Conventions. What a command says goes to standard output, remarks and mistakes to the error
output. Every name from the log or the command line is made harmless before it is printed. Colour
only on a terminal and never with NO_COLOR; lines are made for 80 columns and for more.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import TYPE_CHECKING, Any

from logbook.cli.paging import hold_remark
from logbook.plaintext import clean

if TYPE_CHECKING:
    from rich.console import Console


def say(text: str = "") -> None:
    """Print a line, with anything in it that a terminal would obey made visible."""
    print(clean(text, keep_newlines=True))


def remark(text: str) -> None:
    """Print a line on the error output, behind what was said before it."""
    line = clean(text, keep_newlines=True)
    if not hold_remark(f"{line}\n"):
        print(line, file=sys.stderr)


def local_time(moment: str) -> str:
    """Return a moment of the log (ISO 8601, UTC) to the minute in local time, with its zone."""
    import datetime

    try:
        return datetime.datetime.fromisoformat(moment).astimezone().strftime("%Y-%m-%d %H:%M %Z")
    except (ValueError, OverflowError, OSError):
        return moment


def shell_word(word: str) -> str:
    """Return a word as it would be typed in a shell."""
    if word and all(each.isalnum() or each in "-_./:=,@%+" for each in word):
        return word
    return "'" + word.replace("'", "'\\''") + "'"


def width() -> int:
    """Return how many columns there are: the terminal's, COLUMNS, or 80."""
    import shutil

    return max(40, shutil.get_terminal_size((80, 24)).columns) if _sized() else 80


def _sized() -> bool:
    return sys.stdout.isatty() or bool(os.environ.get("COLUMNS"))


def colourful() -> bool:
    """Return whether colour may be used: on a terminal, and not with NO_COLOR."""
    return (
        sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    )


def console() -> Console:
    """Return a rich console that keeps to `width` and `colourful`, and marks nothing up."""
    from rich.console import Console

    return Console(
        width=width(),
        no_color=not colourful(),
        force_terminal=None if colourful() else False,
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=False,
    )


def print_json(data: Any) -> None:
    """Print data as JSON: records as objects, fractions as text, nothing a terminal would obey."""
    print(json_text(data))


def print_json_list(items: Iterable[Any], indent: str = "") -> None:
    """Print a list as `print_json` does, item by item, so that its length does not matter.

    `indent` is how far in it stands.
    """
    lead = "["
    for each in items:
        text = json_text(each).replace("\n", f"\n{indent}  ")
        print(f"{lead}\n{indent}  {text}", end="")
        lead = ","
    print("[]" if lead == "[" else f"\n{indent}]")


def json_text(data: Any) -> str:
    """Return data as `print_json` prints it."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2, default=plain)
    lines = text.split("\n")
    if all(map(str.isprintable, lines)):
        return text
    return "".join(each if each.isprintable() or each == "\n" else _escaped(each) for each in text)


def plain(value: Any) -> Any:
    """Return what JSON has no word for as something it has: records, sets, fractions."""
    import dataclasses

    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {each.name: getattr(value, each.name) for each in dataclasses.fields(value)}
    if isinstance(value, set | frozenset):
        return sorted(value)
    return str(value)


def _escaped(character: str) -> str:
    code = ord(character)
    if code > 0xFFFF:
        high, low = divmod(code - 0x10000, 0x400)
        return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"
    return f"\\u{code:04x}"


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under their headings in columns, the last one wrapped to fit the width."""
    for line in table_lines(headings, rows, width()):
        print(line)


def print_wide_table(
    headings: Sequence[str], rows: Iterable[Sequence[str]], lengths: Sequence[int]
) -> None:
    """Print rows as they come, where the longest cell of each column is known."""
    longest = [max(len(head), length) for head, length in zip(headings, lengths, strict=True)]
    columns = _columns(longest, width())
    for row in chain([headings], rows):
        print("\n".join(_row_lines([clean(cell) for cell in row], *columns)))


def table_lines(
    headings: Sequence[str], rows: Sequence[Sequence[str]], total: int = 80
) -> list[str]:
    """Return rows under their headings in columns; cells are cut, the last column is wrapped."""
    shown = [headings, *rows] if any(headings) else list(rows)
    cells = [[clean(str(cell)) for cell in row] for row in shown]
    longest = [max(map(len, column)) for column in zip(*cells, strict=True)]
    columns = _columns(longest, total)
    return [line for row in cells for line in _row_lines(row, *columns)]


def _columns(longest: Sequence[int], total: int) -> tuple[list[int], int]:
    """How wide columns are whose cells are as long as this at most, and the room of the last."""
    widths = [min(each, 32) for each in longest[:-1]]
    return widths, max(total - sum(widths) - 2 * len(widths), 20)


def _row_lines(row: Sequence[str], widths: Sequence[int], room: int) -> list[str]:
    """One row of a table: the lines it takes."""
    from textwrap import wrap

    front = "  ".join(
        [_cut(cell, size).ljust(size) for cell, size in zip(row[:-1], widths, strict=True)]
    )
    gap = "  " if front else ""
    last = row[-1]
    if len(last) <= room and "\n" not in last:
        pieces = [last]
    elif last.isalnum():
        # A digest has no place to break at; a log has hundreds of thousands.
        pieces = [last[at : at + room] for at in range(0, len(last), room)]
    else:
        pieces = wrap(last, room) or [""]
    return [
        f"{front if index == 0 else ' ' * len(front)}{gap}{piece}".rstrip()
        for index, piece in enumerate(pieces)
    ]


def _cut(text: str, size: int) -> str:
    return text if len(text) <= size else text[: size - 3] + "..."


def as_data(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a mapping without what is not said (empty text, None, empty lists)."""
    return {key: value for key, value in values.items() if value not in ("", None, (), [])}
