"""Answers that go to the screen or into a file, as text, JSON or CSV.

A file is written whole or not at all: the new one is made beside the old one and takes its place.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from logbook.cli.printing import plain, print_json, say
from logbook.errors import LogbookError
from logbook.plaintext import clean


def write_file(path: Path, data: str | bytes) -> None:
    """Write a whole file or, where the disk is full or the folder locked, leave what was there.

    Raises as `write_pieces` does.
    """
    write_pieces(path, [data])


def write_pieces(path: Path, pieces: Iterable[str | bytes], *, private: bool = False) -> None:
    """Write a whole file piece by piece, or leave what was there; a `private` one is for its
    owner alone.

    The new file is made beside the old one and then takes its place; a device or a pipe is
    written to as it is. Raises OSError, and LogbookError where the folder is not there.
    """
    from logbook.store.outlets import whole_file

    raw = (each.encode("utf-8", "replace") if isinstance(each, str) else each for each in pieces)
    if path.exists() and not path.is_file():
        with path.open("wb") as device:
            device.writelines(raw)
        return
    goal = path.resolve()
    if not goal.parent.is_dir():
        raise LogbookError(f"there is no folder {path.parent}", "make it first, or write elsewhere")
    with whole_file(goal, private=private) as part, part.open("wb") as file:
        file.writelines(raw)


def answer(text: str, out: Path | None) -> None:
    """Say a text, or write it to a file and say that."""
    if out is None:
        say(text)
        return
    write_file(out, clean(text, keep_newlines=True) + "\n")
    say(f"wrote {out}")


def answer_json(data: Any, out: Path | None) -> None:
    """Print data as JSON, or write it to a file and say that."""
    if out is None:
        print_json(data)
        return
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2, default=plain)
    write_file(out, text + "\n")
    say(f"wrote {out}")


def answer_csv(rows: Iterable[Sequence[object]], out: Path | None) -> None:
    """Print rows as CSV that a spreadsheet runs nothing of, or write them to a file."""
    import csv
    import io

    from logbook.plaintext import csv_cell

    made = io.StringIO()
    cells = [[csv_cell(cell) for cell in row] for row in rows]
    csv.writer(made, lineterminator="\n").writerows(cells)
    if out is None:
        sys.stdout.write(made.getvalue())
        return
    write_file(out, made.getvalue())
    say(f"wrote {out}")
