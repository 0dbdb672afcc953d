"""Commands as a person types them, on a log of their own."""

from __future__ import annotations

import shlex
from typing import Any

import pytest

from logbook.cli.main import run


class Typed:
    """Runs commands and keeps what they said."""

    def __init__(self, db: str, capsys: pytest.CaptureFixture[str]) -> None:
        self.db = db
        self.capsys = capsys

    def __call__(self, line: str | list[str], code: int = 0) -> str:
        """Run one command; return what it printed (on the error output, if it is to fail)."""
        words = shlex.split(line) if isinstance(line, str) else line
        self.capsys.readouterr()
        left = run(["--db", self.db, *words])
        said = self.capsys.readouterr()
        assert left == code, (words, left, said.out, said.err)
        assert "Traceback" not in said.err
        return said.err if code == 2 else said.out

    def json(self, line: str | list[str]) -> Any:
        """Run a command with --json and return its data."""
        import json

        words = shlex.split(line) if isinstance(line, str) else line
        return json.loads(self([*words, "--json"]))
