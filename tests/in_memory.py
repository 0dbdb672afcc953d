"""The tests' temporary files, kept in memory where the machine has a folder for that.

Thousands of logs and sounds are made and deleted, and where the disk is told of each deletion that
takes as long as the tests themselves. The folder is this run's own and goes with it.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

MEMORY = Path("/dev/shm")
NEEDED_BYTES = 3 << 30
_NAME = "logbook-tests-"


def put_in_memory() -> None:
    """Let temporary files of this process and of those it starts be made in memory.

    Not where TMPDIR says where they belong, or where there is less than `NEEDED_BYTES` for them.
    What is made once for many runs stays on the disk.
    """
    if "TMPDIR" in os.environ or not os.access(MEMORY, os.W_OK):
        return
    _sweep()
    if shutil.disk_usage(MEMORY).free < NEEDED_BYTES:
        return
    os.environ.setdefault("LOGBOOK_RENDERED", str(Path(tempfile.gettempdir()) / "hear"))
    folder = MEMORY / f"{_NAME}{os.getpid()}"
    folder.mkdir()
    # Some tests are somebody else, who must come to their logs.
    folder.chmod(0o755)
    os.environ["TMPDIR"] = tempfile.tempdir = str(folder)


def end_in_memory() -> None:
    """Delete this run's folder; workers leave that to who started them."""
    folder = MEMORY / f"{_NAME}{os.getpid()}"
    if folder.is_dir():
        shutil.rmtree(folder, ignore_errors=True)


def _sweep() -> None:
    """Delete what runs left that were killed."""
    for left in MEMORY.glob(f"{_NAME}*"):
        if not Path("/proc", left.name.removeprefix(_NAME)).exists():
            shutil.rmtree(left, ignore_errors=True)
