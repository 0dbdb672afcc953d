"""What benchmarks measure with: how fast the machine is just now, and what a command costs.

Targets in seconds are of a machine that has nothing else to do and on which ten million additions
in Python take `USUAL_S`. Where they take longer (an older machine, or one that is throttled) so
much more time is allowed; never less. Where others work on the machine too, so that additions wait
for a processor, the clock says nothing of a command: what counts then is the time that it had of
processors, divided by how many it uses. Memory is that of a command and all the processes it
starts, shared pages counted once (Linux; elsewhere the largest process of them).
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
BUSY = 1.25
_LOOP = """
import time
start, worked = time.perf_counter(), time.process_time()
total = 0
for number in range(10_000_000):
    total += number
print(time.perf_counter() - start, time.process_time() - worked)
"""


def yardstick(processes: int = 1) -> tuple[float, float]:
    """Seconds that ten million additions take just now, in so many processes at once: by the
    clock, and of a processor."""
    loops = [
        subprocess.Popen([sys.executable, "-c", _LOOP], stdout=subprocess.PIPE, text=True)
        for _ in range(processes)
    ]
    said = [tuple(map(float, loop.communicate()[0].split())) for loop in loops]
    clock, worked = (sum(each) / processes for each in zip(*said, strict=True))
    return clock, worked


class Judged:
    """Whether a command took no longer than `seconds` of the usual machine, on `processes`."""

    def __init__(self, seconds: float, *, processes: int = 1) -> None:
        """Look at the machine before the command."""
        self.seconds = seconds
        self._processes = processes
        self._sticks = [yardstick(processes)]

    def after(self, cost: Cost) -> tuple[bool, str]:
        """Look at it again; return whether the command was quick enough, and how it was judged."""
        self._sticks.append(yardstick(self._processes))
        clock, worked = (sum(each) / 2 for each in zip(*self._sticks, strict=True))
        busy = clock > BUSY * worked
        stick = worked if busy else clock
        took = cost.processors / self._processes if busy else cost.seconds
        allowed = self.seconds * max(1.0, stick / USUAL_S)
        count = f"{self._processes} processors" if self._processes > 1 else "a processor"
        how = f"{cost.processors:.1f} s of {count}; others work too" if busy else "alone"
        return took <= allowed, (
            f"{cost.seconds:.1f} s ({how}), {took / stick:.1f} x ten million additions"
            f" ({stick:.2f} s), at most {self.seconds / USUAL_S:.1f} x"
            f" ({self.seconds:.1f} s on the usual machine)"
        )


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
