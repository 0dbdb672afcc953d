"""What benchmarks measure with: how fast the machine is just now, and what a command costs.

Targets in seconds are of a machine on which ten million additions in Python take `USUAL_S`. Where
they take longer (an older machine, one that others use, one that is throttled), so much more time
is allowed; never less. What a command has on all processors the additions have as well. Memory is
that of a command and all the processes it starts, shared pages counted once (Linux; elsewhere the
largest process of them).
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

USUAL_S = 0.6
_OFTEN_S = 0.1
_LOOP = """
import time
start = time.perf_counter()
total = 0
for number in range(10_000_000):
    total += number
print(time.perf_counter() - start)
"""


def yardstick(processes: int = 1) -> float:
    """Seconds that ten million additions take just now, in so many processes at once."""
    loops = [
        subprocess.Popen([sys.executable, "-c", _LOOP], stdout=subprocess.PIPE, text=True)
        for _ in range(processes)
    ]
    said = [loop.communicate()[0] for loop in loops]
    return sum(map(float, said)) / len(said)


class Allowed:
    """How long something may take, by how fast the machine was before and after it."""

    def __init__(self, seconds: float, *, processes: int = 1) -> None:
        """`seconds` are those of the usual machine; `processes` is how many work at once."""
        self.seconds = seconds
        self._processes = processes
        self._sticks = [yardstick(processes)]

    def after(self) -> float:
        """Look at the machine again and return the seconds that are allowed."""
        self._sticks.append(yardstick(self._processes))
        return self.seconds * max(1.0, self.stick / USUAL_S)

    @property
    def stick(self) -> float:
        """Seconds of ten million additions, the mean of what was measured."""
        return sum(self._sticks) / len(self._sticks)


class Cost(NamedTuple):
    """What a command took: wall-clock seconds, those of processors, megabytes at the most, exit
    code, what it said on the error output."""

    seconds: float
    processors: float
    megabytes: float
    code: int
    errors: str


def cost_of(command: list[str], env: dict[str, str], cwd: Path) -> Cost:
    """Run a command as a whole process and return what it cost."""
    begin = time.perf_counter()
    process = subprocess.Popen(
        command, env=env, cwd=cwd, text=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    peak = 0.0
    ended = threading.Event()

    def watch() -> None:
        nonlocal peak
        while not ended.wait(_OFTEN_S):
            peak = max(peak, sum(map(_megabytes, _family(process.pid))))

    watching = threading.Thread(target=watch, daemon=True)
    watching.start()
    assert process.stderr is not None
    errors = process.stderr.read()
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - begin
    ended.set()
    watching.join()
    process.returncode = os.waitstatus_to_exitcode(status)
    # Linux counts the resident size in kilobytes, macOS in bytes.
    alone = used.ru_maxrss / (2**20 if sys.platform == "darwin" else 1024)
    worked = used.ru_utime + used.ru_stime
    return Cost(seconds, worked, peak or alone, process.returncode, errors)


def _family(pid: int) -> Iterator[int]:
    """A process and all that it started, on Linux."""
    yield pid
    with contextlib.suppress(OSError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                yield from _family(int(child))


def _megabytes(pid: int) -> float:
    """What a process has in memory, pages that it shares with others in part; 0 if not known."""
    with contextlib.suppress(OSError, ValueError):
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                return int(line.split()[1]) / 1024
    return 0.0
