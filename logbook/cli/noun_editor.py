"""Changing a record in the person's own editor: its table out, the changed table in."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from logbook.cli.paging import let_through
from logbook.cli.printing import remark
from logbook.errors import LogbookError
from logbook.notebook.declare import Noun, Value
from logbook.notebook.read import parse
from logbook.notebook.toml_text import write_document


@contextmanager
def edited(noun: Noun, table: dict[str, Value], name: str) -> Iterator[dict[str, Any]]:
    """Let a person change a table in an editor, and give it as it is after that.

    Raises LogbookError where there is no editor or it fails. Where what was written cannot be
    used in the end, or the editor or this program was ended, it is kept in a file, and the
    sentence names it.
    """
    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR") or ""
    if not editor and not sys.stdin.isatty():
        raise LogbookError(
            "nothing is given to change",
            f"give an option (logbook {noun.word} edit --help lists them), or set EDITOR",
        )
    handle, path = tempfile.mkstemp(prefix="logbook-", suffix=".toml")
    with os.fdopen(handle, "w", encoding="utf-8") as stream:
        heading = "".join(each if each.isprintable() else " " for each in name)
        start = f"# {heading}: change what you like, save, and close.\n{write_document(table)}"
        stream.write(start)
    _run(editor or "vi", Path(path), start)
    try:
        text = Path(path).read_text(encoding="utf-8", errors="replace")
        yield parse(text, path)
    except LogbookError as error:
        raise LogbookError(str(error), f"what you wrote is kept in {path}") from error
    Path(path).unlink(missing_ok=True)


def _run(editor: str, path: Path, start: str) -> None:
    """Run an editor on a file; what it wrote stays where it fails or is ended."""
    let_through()
    try:
        done = subprocess.run([*shlex.split(editor), str(path)], check=False)
    except (OSError, ValueError) as error:
        path.unlink(missing_ok=True)
        raise LogbookError(
            f"the editor {editor} cannot be started ({error})", "set EDITOR to one that can"
        ) from error
    except BaseException:
        if _is_changed(path, start):
            remark(f"what you wrote is kept in {path}")
        raise
    if done.returncode != 0:
        kept = f"what you wrote is kept in {path}" if _is_changed(path, start) else ""
        raise LogbookError("the editor ended with an error; nothing was changed", kept)


def _is_changed(path: Path, start: str) -> bool:
    """Whether a file holds anything but what it held at the start; if not, it goes."""
    try:
        if path.read_text(encoding="utf-8", errors="replace") != start:
            return True
        path.unlink(missing_ok=True)
    except OSError:
        pass
    return False
