"""Who may read what the log writes: its file, its copies, its exports.

Conventions
-----------
What is new is for its owner alone (mode 600), since a log holds names, shares and remarks that
are nobody else's business. A umask that lets a group or everybody write says that the log is
shared, and then they may. A file that already exists keeps the mode that somebody gave it.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path


def file_mode() -> int:
    """The mode of a new file."""
    mask = umask()
    mode = 0o600
    for bits in (0o060, 0o006):
        if not mask & bits:
            mode |= bits
    return mode


def umask() -> int:
    """The bits that a new file shall not have."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def mode_of(path: Path) -> int:
    """The mode that a file at `path` has, or would get if it were new."""
    try:
        return stat.S_IMODE(path.stat().st_mode)
    except OSError:
        return file_mode()


def create(path: Path) -> None:
    """Make an empty file at `path` with the mode of a new file, unless there is one."""
    mode = file_mode()
    try:
        descriptor = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY | os.O_CLOEXEC, mode)
    except FileExistsError:
        return
    try:
        os.fchmod(descriptor, mode)
    finally:
        os.close(descriptor)
