"""What the process of the killing test does; `tests.warm` calls it by name."""

from __future__ import annotations

from logbook.room.working import Room
from logbook.store.lifecycle import open_log


def press(log: str, today: str) -> None:
    """Press keys in a room until somebody ends it, and print what each was answered."""
    with open_log(log) as store:
        room = Room(store, who="Oda", today=today)
        while True:
            print(room.rate("keeper").said, flush=True)
