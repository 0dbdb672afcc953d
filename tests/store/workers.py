"""What the processes of the concurrency and crash tests do; `tests.warm` calls them by name."""

from __future__ import annotations

import os
import time
from pathlib import Path

from logbook import records as r
from logbook.errors import LogbookError
from logbook.store.backup import backup
from logbook.store.finding import LogPlace
from logbook.store.lifecycle import open_log
from logbook.store.queueing import turn
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


def add_song(target: str, title: str) -> None:
    """Add a song as the first thing a log is told, perhaps."""
    with open_log(target) as store, store.change("add") as change:
        put(change, r.Song(title=title))


def add_as_nobody(*targets: str) -> None:
    """Try to add a song to each log as somebody who owns nothing, and print what is said."""
    if os.getuid() == 0:
        os.setgid(65534)
        os.setuid(65534)
    for target in targets:
        try:
            add_song(target, "x")
        except LogbookError as error:
            print(error)


def hold_the_turn(log: str) -> None:
    """Be the one who writes to the log until somebody ends it."""
    with turn(Path(log), "load day.toml", "Ina", print):
        print("holding", flush=True)
        time.sleep(60)
