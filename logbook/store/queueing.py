"""The writers' queue of a log in a file: one writer at a time, in the order they came.

Conventions
-----------
SQLite lets a waiting writer sleep and try again, so that whoever comes later may go first, and
nobody learns why it takes so long. Writers therefore queue up at a file beside the log,
LOG-queue, where they draw tickets (see `tickets`), and which also says who is writing, what, and
since when. A ticket goes with its process, so one that was killed holds up nobody. Where a file
system has no such locks, or the folder may not be written, there is no queue, and SQLite's own
waiting is left.
"""

from __future__ import annotations

import contextlib
import json
import os
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from logbook.store.errors import StoreError
from logbook.store.private import file_mode
from logbook.store.targets import without_addresses
from logbook.store.tickets import HAS_LOCKS, HEAD_SIZE, draw, give_back, is_next, wait_for

PATIENCE_S = 120.0
"""How long a writer waits for its turn before it gives up, in seconds."""
SAID_AFTER_S = 1.0
SAID_AGAIN_S = 10.0

_held = threading.local()


def queue_file(log: Path) -> Path:
    """The file that writers of the log at `log` queue up at, behind any symbolic link."""
    real = log.resolve()
    return real.with_name(f"{real.name}-queue")


@contextlib.contextmanager
def turn(log: Path, command: str, who: str, notice: Callable[[str], None]) -> Iterator[None]:
    """Wait for this thread's turn to write to the log at `log`, and keep it meanwhile.

    A turn within a turn is the same one. After a second `notice` is told who is writing, and
    every ten seconds again. Raises StoreError after `PATIENCE_S` seconds of waiting.
    """
    path = queue_file(log)
    holding: set[Path] = _held.__dict__.setdefault("paths", set())
    if not HAS_LOCKS or path in holding:
        yield
        return
    descriptor = _opened(path)
    if descriptor is None:
        yield
        return
    try:
        try:
            ticket = _take_turn(descriptor, path, notice)
        except OSError:
            # A file system without such locks: SQLite's own waiting is left.
            yield
            return
        holding.add(path)
        try:
            _sign(descriptor, command, who)
            yield
        finally:
            holding.discard(path)
            with contextlib.suppress(OSError):
                os.ftruncate(descriptor, HEAD_SIZE)
            give_back(descriptor, ticket)
    finally:
        os.close(descriptor)


def _opened(path: Path) -> int | None:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, file_mode())
    except OSError:
        return None


def _take_turn(descriptor: int, path: Path, notice: Callable[[str], None]) -> int:
    """Draw a ticket and wait until those who came before have gone; return the ticket.

    Raises OSError where there are no locks, StoreError when it takes too long.
    """
    ticket = draw(descriptor)
    if is_next(descriptor, ticket):
        return ticket
    # A thread waits inside the kernel, and this one speaks. The copy of the descriptor is the
    # thread's own to close.
    waiting = os.dup(descriptor)
    locked, given_up = threading.Event(), threading.Event()
    problems: list[OSError] = []

    def wait() -> None:
        try:
            wait_for(waiting, ticket)
            if given_up.is_set():
                give_back(waiting, ticket)
        except OSError as error:
            problems.append(error)
        finally:
            os.close(waiting)
            locked.set()

    threading.Thread(target=wait, daemon=True).start()
    start = time.monotonic()
    try:
        pause = SAID_AFTER_S
        while not locked.wait(min(pause, PATIENCE_S)):
            if time.monotonic() - start >= PATIENCE_S:
                raise StoreError(
                    f"{in_words(*_signed(path))}: too long to wait, and nothing was changed",
                    "give the command again in a moment",
                )
            notice(waiting_for(*_signed(path)))
            pause = SAID_AGAIN_S
    except BaseException:
        given_up.set()
        give_back(descriptor, ticket)
        raise
    if problems:
        raise problems[0]
    return ticket


def _sign(descriptor: int, command: str, who: str) -> None:
    signed = {"who": who, "command": without_addresses(command)[:200], "since": time.time()}
    with contextlib.suppress(OSError):
        os.ftruncate(descriptor, HEAD_SIZE)
        os.pwrite(descriptor, json.dumps(signed).encode(), HEAD_SIZE)


def _signed(path: Path) -> tuple[str, str, float | None]:
    """The command, its person, and for how many seconds, as the queue's file has it."""
    try:
        signed = json.loads(path.read_bytes()[HEAD_SIZE:])
        name = str(signed["command"]).partition(" ")[0]
        return name, str(signed["who"]), time.time() - float(signed["since"])
    except (OSError, ValueError, KeyError, TypeError):
        return "", "", None


def in_words(command: str, who: str, seconds: float | None) -> str:
    """Say who has been writing what for how many seconds, as far as it is known."""
    by = f": {command or 'a command'} ({who})" if who else f": {command}" if command else ""
    since = "" if seconds is None else f", since {max(0, round(seconds))} s"
    return f"somebody else is writing{by}{since}"


def waiting_for(command: str, who: str, seconds: float | None) -> str:
    """The whole sentence for somebody whose turn has not come."""
    words = in_words(command, who, seconds)
    return f"{words}; this waits its turn (Ctrl-C leaves without writing)"
