"""Answers that go to the screen or into a file, as text, JSON or CSV.

A file is written whole or not at all: the new one is made beside the old one and takes its place.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from logbook.cli.printing import say
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
