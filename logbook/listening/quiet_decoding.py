"""Keeping a decoder's own grumbling off the screen.

The MP3 decoder writes remarks about bit reservoirs to the error output from C, past anything
Python could catch, for files that every player plays. While it decodes, file descriptor 2 leads
nowhere. Several threads may decode at once: the first one in closes the door, the last one out
opens it again.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_lock = threading.Lock()
_inside = 0
_kept: int | None = None


@contextmanager
def hushed() -> Iterator[None]:
    """Let nothing reach the error output while this lasts, not even from C."""
    _enter()
    try:
        yield
    finally:
        _leave()


def _enter() -> None:
    global _inside, _kept
    with _lock:
        _inside += 1
        if _inside == 1:
            try:
                _kept = os.dup(2)
            except OSError:  # the error output is closed: nothing to keep quiet
                _kept = None
                return
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 2)
            os.close(nowhere)


def _leave() -> None:
    global _inside, _kept
    with _lock:
        _inside -= 1
        if _inside == 0 and _kept is not None:
            os.dup2(_kept, 2)
            os.close(_kept)
            _kept = None
