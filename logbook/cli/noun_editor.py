"""Changing a record in the person's own editor: its table out, the changed table in."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook.declare import Noun, Value
from logbook.notebook.read import parse
from logbook.notebook.toml_text import write_document


def edited(noun: Noun, table: dict[str, Value], name: str) -> dict[str, Any]:
    """Return a table as it is after a person has changed it in an editor.

    Raises LogbookError where there is no editor, it fails, or what it leaves is no TOML; the text
    is then kept in a file that the sentence names.
    """
    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR") or ""
    if not editor and not sys.stdin.isatty():
        raise LogbookError(
            "nothing is said to change",
            f"give an option (logbook {noun.word} edit --help lists them), or set EDITOR",
        )
    handle, path = tempfile.mkstemp(prefix="logbook-", suffix=".toml")
    with os.fdopen(handle, "w", encoding="utf-8") as stream:
        heading = "".join(each if each.isprintable() else " " for each in name)
        stream.write(f"# {heading}: change what you like, save, and close.\n")
        stream.write(write_document(table))
    try:
        done = subprocess.run([*shlex.split(editor or "vi"), path], check=False)
    except (OSError, ValueError) as error:
        raise LogbookError(
            f"the editor {editor} cannot be started ({error})", "set EDITOR to one that can"
        ) from error
    if done.returncode != 0:
        Path(path).unlink(missing_ok=True)
        raise LogbookError("the editor gave up; nothing was changed", "")
    text = Path(path).read_text(encoding="utf-8")
    table = parse(text, path)
    Path(path).unlink(missing_ok=True)
    return table
