"""Writing a file so that it is there as a whole or not at all, also where it is no plain file.

Conventions
-----------
A file is written beside its place, under a name that says which process does so, and takes the
place when it is whole. What a killed process left is swept away by the next one. A pipe or a
device is written into, never replaced; a symbolic link stays, and what it leads to is replaced.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

from logbook.store.private import create, mode_of, umask

_PART = re.compile(r"\..+\.(\d+)\.part(-wal|-shm|-journal)?")


def is_plain(path: Path) -> bool:
    """Whether a file may be put at `path`: a plain one is there, or nothing."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except OSError:
        return True


@contextlib.contextmanager
def whole_file(path: Path, *, private: bool = True) -> Iterator[Path]:
    """A place to write to; what was written there is at `path` when this ends without an error.

    A new file that is not `private` may be read by whom the umask lets. Raises OSError where it
    cannot be written.
    """
    if not is_plain(path):
        with scratch_file(path.name) as part:
            yield part
            with part.open("rb") as written, path.open("wb", buffering=0) as out:
                shutil.copyfileobj(written, out)
        return
    goal = path.resolve()
    sweep(goal.parent)
    with _beside(goal) as part:
        mode = mode_of(goal) if private or goal.exists() else 0o666 & ~umask()
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        os.chmod(part, mode)
        os.replace(part, goal)


@contextlib.contextmanager
def scratch_file(name: str) -> Iterator[Path]:
    """A place in the folder of temporary files, which goes with everything in it when this ends.

    Raises OSError where it cannot be written.
    """
    folder = Path(tempfile.gettempdir())
    sweep(folder)
    with _beside(folder / name) as part:
        yield part


@contextlib.contextmanager
def _beside(goal: Path) -> Iterator[Path]:
    part = goal.with_name(f".{goal.name[:200]}.{os.getpid()}.part")
    for rest in _with_rests(part):
        rest.unlink(missing_ok=True)
    create(part)
    try:
        yield part
    finally:
        for rest in _with_rests(part):
            rest.unlink(missing_ok=True)


def _with_rests(part: Path) -> list[Path]:
    return [part.with_name(part.name + rest) for rest in ("", "-wal", "-shm", "-journal")]


def sweep(folder: Path) -> None:
    """Remove what processes that are gone left half written in `folder`."""
    with contextlib.suppress(OSError):
        for path in folder.glob(".*.part*"):
            found = _PART.fullmatch(path.name)
            if found is not None and not _alive(int(found[1])):
                path.unlink(missing_ok=True)


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
