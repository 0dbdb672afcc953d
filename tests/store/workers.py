"""What the processes of the concurrency and crash tests do; run as `python workers.py NAME ...`."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook import records as r
from logbook.store.backup import backup
from logbook.store.finding import LogPlace
from logbook.store.lifecycle import open_log
from logbook.store.undoing import redo, undo
from logbook.store.writing import next_take, put

GUITAR = LogPlace("Salt Road", "album", "guitar")


def log_takes(target: str, who: str, count: str) -> None:
    """Log `count` takes, each as a command of its own, and print their numbers."""
    with open_log(target) as store:
        for _ in range(int(count)):
            with store.change("take add", who=who) as change:
                number = next_take(change, GUITAR, "day two")
                put(change, r.Take(number=number, session="day two", notes=who), GUITAR)
            print(number)


def work_without_end(target: str, folder: str) -> None:
    """Add, take back, bring again and copy until somebody ends it, telling what was added."""
    print("ready", flush=True)
    with open_log(target) as store:
        turn = 0
        while True:
            turn += 1
            with store.change(f"load {turn}") as change:
                for _ in range(5):
                    number = next_take(change, GUITAR, "day two")
                    punches = (r.PunchIn(bars="1"), r.PunchIn(bars="2"))
                    take = r.Take(number=number, session="day two", punch_ins=punches)
                    put(change, take, GUITAR)
            print(turn, flush=True)
            if turn % 3 == 0:
                undo(store)
            if turn % 6 == 0:
                redo(store)
            if turn % 4 == 0:
                backup(store, Path(folder) / "copy.db")


if __name__ == "__main__":
    {"log_takes": log_takes, "work_without_end": work_without_end}[sys.argv[1]](*sys.argv[2:])
