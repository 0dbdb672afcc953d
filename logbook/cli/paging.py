"""What a command prints on a terminal that it does not fit goes through the pager.

`held` keeps back what a command prints while somebody sits at a terminal; at its end the whole is
printed, or shown in the pager that PAGER names. Whoever asks a question, or keeps the terminal for
long, calls `let_through` first: from there on everything is printed at once.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

_COLOURS = re.compile(r"\x1b\[[0-9;]*m")


class HeldOutput:
    """A terminal's stand-in that keeps what is printed, remarks in their place among it."""

    def __init__(self, screen: Any) -> None:
        self.screen = screen
        self.pieces: list[tuple[Any, str]] = []
        self.through = False

    def write(self, text: str) -> int:
        """Keep a text, or print it where nothing is held any more. Raises TypeError for bytes."""
        if not isinstance(text, str):
            # As a terminal's text stream does; who prints may try it to learn which kind it is.
            raise TypeError(f"a terminal prints text, not {type(text).__name__}")
        if self.through:
            self.screen.write(text)
        else:
            self.pieces.append((self.screen, text))
        return len(text)

    def flush(self) -> None:
        """Flush the terminal where nothing is held any more."""
        if self.through:
            self.screen.flush()

    @property
    def buffer(self) -> Any:
        """The terminal's bytes, after whatever was held."""
        self.release()
        return self.screen.buffer

    def release(self) -> None:
        """Print what was held, and hold nothing from here on."""
        pieces, self.pieces, self.through = self.pieces, [], True
        for stream, text in pieces:
            stream.write(text)
        self.screen.flush()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.screen, name)


@contextmanager
def held(*, pager: bool = True) -> Iterator[None]:
    """Hold what is printed on a terminal until the end, and show it in the pager if it is long.

    Without `pager` all is printed at once. Where somebody stops the command or it fails, what
    there is is printed as it is.
    """
    if not pager or isinstance(sys.stdout, HeldOutput) or not _is_wanted():
        yield
        return
    stand_in = HeldOutput(sys.stdout)
    sys.stdout = stand_in
    try:
        yield
        if not stand_in.through:
            _show(stand_in)
    finally:
        sys.stdout = stand_in.screen
        stand_in.release()


def let_through() -> None:
    """Print what was held and everything after it at once: somebody is asked, or has to wait."""
    if isinstance(sys.stdout, HeldOutput):
        sys.stdout.release()


def hold_remark(text: str) -> bool:
    """Keep a remark for the error output in its place behind what is held; False if none is."""
    if isinstance(sys.stdout, HeldOutput) and sys.stdout.pieces and sys.stderr.isatty():
        sys.stdout.pieces.append((sys.stderr, text))
        return True
    return False


def paged(text: str) -> bool:
    """Show a text in the pager if somebody sits at a terminal that it does not fit; say whether.

    An empty PAGER, or `cat`, lets the text run through as it is.
    """
    import shutil

    if not _is_wanted():
        return False
    size = shutil.get_terminal_size((80, 24))
    if _rows(text, size.columns) < size.lines:
        return False
    import click

    # Keep colours, stop at the end of what fits, and leave the text on the screen.
    os.environ.setdefault("LESS", "FRX")
    click.echo_via_pager(text, color=True)
    return True


def _is_wanted() -> bool:
    return (
        os.environ.get("PAGER") not in ("", "cat")
        and os.environ.get("TERM", "dumb") != "dumb"
        and sys.stdout.isatty()
        and sys.stdin.isatty()
    )


def _rows(text: str, columns: int) -> int:
    """How many rows of a terminal a text takes."""
    rows = 0
    for line in text.splitlines():
        rows += max(1, -(-len(_COLOURS.sub("", line)) // max(columns, 1)))
    return rows


def _show(stand_in: HeldOutput) -> None:
    """Show what was held in the pager; what is short stays for `release`."""
    text = "".join(text for stream, text in stand_in.pieces if stream is stand_in.screen)
    sys.stdout = stand_in.screen
    if paged(text):
        stand_in.pieces = [each for each in stand_in.pieces if each[0] is not stand_in.screen]
