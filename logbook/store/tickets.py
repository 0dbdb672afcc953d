"""Tickets on a file: whoever draws one goes when everybody who drew earlier has gone.

Conventions
-----------
The kernel wakes all who wait for a lock, and whoever comes by just then may take it first. So each
draws a number, locks the byte of that number, and waits for a lock on all bytes before it: those
of whoever came earlier and has not gone. The locks go with the process, so one that was killed
holds up nobody. The number last drawn stands at the head of the file, `HEAD_SIZE` bytes long. The
locks belong to the open file (Linux, `F_OFD_SETLK`), not to the process, so that threads may queue
up too; where there are none, the plain lock on the file (flock) is the queue, in nearly the order
of coming.
"""

from __future__ import annotations

import contextlib
import errno
import os
import struct
import sys

try:
    import fcntl
except ImportError:  # Not a Unix: there is no queue.
    fcntl = None  # type: ignore[assignment]

HAS_LOCKS = fcntl is not None
HEAD_SIZE = 21
# Bytes far behind whatever stands in the file; they need not be there to be locked.
_FIRST = 1 << 40
_TRY = getattr(fcntl, "F_OFD_SETLK", None)
_WAIT = getattr(fcntl, "F_OFD_SETLKW", None)
_HAS_TICKETS = (
    _TRY is not None and _WAIT is not None and sys.platform == "linux" and sys.maxsize > 2**32
)
_TAKEN = (errno.EAGAIN, errno.EACCES)


def draw(descriptor: int) -> int:
    """Draw the next ticket of an open file; 0 where there are none. Raises OSError."""
    if not _HAS_TICKETS:
        return 0
    fcntl.flock(descriptor, fcntl.LOCK_EX)
    try:
        ticket = _last(descriptor) + 1
        while not _lock(descriptor, fcntl.F_WRLCK, _FIRST + ticket, 1):
            ticket += 1
        os.pwrite(descriptor, b"%020d\n" % ticket, 0)
    finally:
        fcntl.flock(descriptor, fcntl.LOCK_UN)
    return ticket


def is_next(descriptor: int, ticket: int) -> bool:
    """Take the turn that a ticket gives if it has come. Raises OSError."""
    if ticket:
        return _lock(descriptor, fcntl.F_WRLCK, _FIRST, ticket)
    with contextlib.suppress(BlockingIOError):
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return True
    return False


def wait_for(descriptor: int, ticket: int) -> None:
    """Wait until the turn that a ticket gives has come, and take it. Raises OSError."""
    if ticket:
        _lock(descriptor, fcntl.F_WRLCK, _FIRST, ticket, wait=True)
    else:
        fcntl.flock(descriptor, fcntl.LOCK_EX)


def give_back(descriptor: int, ticket: int) -> None:
    """Let those behind go, whether this ticket's turn had come or not."""
    with contextlib.suppress(OSError):
        if ticket:
            _lock(descriptor, fcntl.F_UNLCK, _FIRST, ticket + 1)
        else:
            fcntl.flock(descriptor, fcntl.LOCK_UN)


def _last(descriptor: int) -> int:
    head = os.pread(descriptor, HEAD_SIZE, 0).strip()
    return int(head) if head.isdigit() else 0


def _lock(descriptor: int, kind: int, start: int, length: int, *, wait: bool = False) -> bool:
    """Lock or unlock some bytes; False if others have them. Raises OSError."""
    # struct flock of 64-bit Linux: type, whence, start, length, process (0 for such locks).
    wanted = struct.pack("hhqqi4x", kind, os.SEEK_SET, start, length, 0)
    call = _WAIT if wait else _TRY
    assert call is not None
    try:
        fcntl.fcntl(descriptor, call, wanted)
    except OSError as error:
        if error.errno in _TAKEN and not wait:
            return False
        raise
    return True
