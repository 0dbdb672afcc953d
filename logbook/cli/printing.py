"""Printing what a command says: lines, tables, data.

Conventions. What a command says goes to standard output, remarks and mistakes to the error
output. Every name from the log or the command line is made harmless before it is printed. Colour
only on a terminal and never with NO_COLOR; lines are made for 80 columns and for more.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from logbook.plaintext import clean

if TYPE_CHECKING:
    from rich.console import Console


def say(text: str = "") -> None:
    """Print a line, with anything in it that a terminal would obey made visible."""
    print(clean(text, keep_newlines=True))


def remark(text: str) -> None:
    """Print a line on the error output, behind what was said before it."""
    from logbook.cli.paging import hold_remark

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
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2, default=plain)
    print("".join(each if each.isprintable() or each == "\n" else _escaped(each) for each in text))


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


def table_lines(
    headings: Sequence[str], rows: Sequence[Sequence[str]], total: int = 80
) -> list[str]:
    """Return rows under their headings in columns; cells are cut, the last column is wrapped."""
    from textwrap import wrap

    shown = [headings, *rows] if any(headings) else list(rows)
    if not shown:
        return []
    cells = [[clean(str(cell)) for cell in row] for row in shown]
    widths = [min(max(map(len, column)), 32) for column in zip(*cells, strict=True)]
    room = max(total - sum(each + 2 for each in widths[:-1]), 20)
    lines = []
    for row in cells:
        front = "  ".join(
            _cut(cell, size).ljust(size) for cell, size in zip(row[:-1], widths, strict=False)
        )
        gap = "  " if front else ""
        for index, piece in enumerate(wrap(row[-1], room) or [""]):
            lead = front if index == 0 else " " * len(front)
            lines.append(f"{lead}{gap}{piece}".rstrip())
    return lines


def _cut(text: str, size: int) -> str:
    return text if len(text) <= size else text[: size - 3] + "..."


def as_data(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a mapping without what is not said (empty text, None, empty lists)."""
    return {key: value for key, value in values.items() if value not in ("", None, (), [])}
