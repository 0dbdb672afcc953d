"""Work shared out to helper processes, one for each processor, its results in order.

Helpers are new processes ("spawn"), so that nothing that is open here is open there. They leave
Ctrl-C to the one that asked, and end when that one ends, however it does.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import islice
from multiprocessing import connection, get_context, parent_process
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")

_MOST = 8
_WAITING = 3
"""So many pieces of work a helper lie ready; what is done and not fetched yet takes memory."""


def helpers() -> int:
    """Return how many helpers are worth while: 0 with one processor, or where none can start."""
    if hasattr(os, "sched_getaffinity"):
        count = len(os.sched_getaffinity(0))
    else:
        count = os.cpu_count() or 1
    return min(count, _MOST) if count > 1 and _can_start() else 0


def _can_start() -> bool:
    """Whether new processes can be started from here: not where the program came by a pipe."""
    main = sys.modules.get("__main__")
    path = getattr(main, "__file__", None)
    return parent_process() is None and (path is None or os.path.exists(path))


def shared_out(
    function: Callable[[Item], Result], items: Iterable[Item], count: int
) -> Iterator[Result]:
    """Yield what a module's function returns for each item, worked out by `count` helpers.

    Whatever a helper raises is raised here; then, and when nobody fetches any more, they end.
    """
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_attend)
    waiting: deque[Future[Result]] = deque()
    coming = iter(items)
    try:
        for item in islice(coming, count * _WAITING):
            waiting.append(pool.submit(function, item))
        while waiting:
            result = waiting.popleft().result()
            for item in islice(coming, 1):
                waiting.append(pool.submit(function, item))
            yield result
    except BaseException:
        # Nobody waits for what nobody will fetch.
        workers = list((pool._processes or {}).values())
        pool.shutdown(wait=False, cancel_futures=True)
        for worker in workers:
            worker.terminate()
        raise
    pool.shutdown()


def _attend() -> None:
    """In a helper: leave Ctrl-C to the one that asked, and end when that one ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is None:
        return

    def watch() -> None:
        connection.wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
