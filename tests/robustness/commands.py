"""Giving commands as a person would, in this process and in one of their own."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock

from logbook.cli.log import settings
from logbook.cli.main import run
from tests.warm import shared

ROOT = Path(__file__).parents[2]
SESSION = ROOT / "sample_session" / "session.toml"


# A real start; `typed` and `tests.warm` give commands in processes that need none.
COMMAND = (sys.executable, "-c", "from logbook.cli.main import main; main()")


class Given(NamedTuple):
    """How a command ended, and what it said."""

    code: int
    out: str
    err: str


def give(*arguments: str, stdin: bytes = b"", **environment: str) -> Given:
    """Give a command in this process; the log is the one that LOGBOOK_DB names."""
    settings.db = settings.command = ""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    typed = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    with (
        mock.patch.dict(os.environ, environment),
        mock.patch.multiple(sys, stdout=out, stderr=err, stdin=typed),
    ):
        code = run(arguments)
        said = []
        for stream in (out, err):
            stream.flush()
            buffer: Any = stream.buffer
            said.append(buffer.getvalue().decode())
    return Given(code, said[0], said[1])


def done(*arguments: str, **options: Any) -> str:
    """Give a command that must succeed, and return what it said."""
    given = give(*arguments, **options)
    assert (given.code, given.err) == (0, ""), (arguments, given)
    return given.out


def refused(*arguments: str, **options: Any) -> str:
    """Give a command that must be refused in one plain sentence, and return that."""
    given = give(*arguments, **options)
    assert given.code == 2, (arguments, given)
    assert given.out == "", (arguments, given)
    return one_sentence(given.err)


def one_sentence(err: str) -> str:
    """Hold what was said on the error output to one line that a person can read."""
    assert err.startswith("logbook: "), err
    assert "Traceback" not in err
    assert harmless(err), err
    assert err.count("\n") == 1, err
    return err.removeprefix("logbook: ").rstrip("\n")


def harmless(text: str) -> bool:
    """Whether a terminal would only print it."""
    from logbook.plaintext import clean

    return text == clean(text, keep_newlines=True)


def typed(
    *arguments: str,
    env: dict[str, str | None] | None = None,
    said: str = "",
    timeout: float = 120,
) -> subprocess.CompletedProcess[str]:
    """Give a command as a process of its own; None in `env` takes a variable away."""
    environment = {**os.environ, **(env or {})}
    return shared().run(
        *arguments,
        input=said,
        timeout=timeout,
        cwd=ROOT,
        encoding="utf-8",
        errors="replace",
        env={key: value for key, value in environment.items() if value is not None},
    )


def take_passes(who: str, count: str, *place: str) -> None:
    """Log takes one after another, as a player's own process does."""
    for turn in range(int(count)):
        code = run(["take", "complete", "1-12", f"{who} pass {turn}", *place])
        if code:
            sys.exit(code)
