"""A text longer than the terminal goes through the pager that PAGER names."""

from __future__ import annotations

import os
import sys


def paged(text: str) -> bool:
    """Show a text in the pager if somebody sits at a terminal that it does not fit; say whether.

    An empty PAGER, or `cat`, lets the text run through as it is.
    """
    import shutil

    named = os.environ.get("PAGER")
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or named in ("", "cat"):
        return False
    if os.environ.get("TERM", "dumb") == "dumb":
        return False
    if text.count("\n") < shutil.get_terminal_size((80, 24)).lines:
        return False
    import click

    # Keep colours, stop at the end of what fits, and leave the text on the screen.
    os.environ.setdefault("LESS", "FRX")
    click.echo_via_pager(text, color=True)
    return True
