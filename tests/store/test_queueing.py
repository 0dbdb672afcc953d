"""Writers take their turns, and whoever waits is told for whom."""

from __future__ import annotations

import os
import signal
import threading
import time
from pathlib import Path
from subprocess import PIPE

import pytest

from logbook.errors import LogbookError
from logbook.store import queueing, tickets
from logbook.store.lifecycle import open_log
from logbook.store.queueing import turn
from logbook.store.store import Store
from tests.store.filled import fill, take
from tests.warm import shared


def silent(_: str) -> None:
    pass


@pytest.mark.parametrize("has_tickets", [True, False])
def test_those_who_wait_go_in_the_order_they_came(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_tickets: bool
) -> None:
    monkeypatch.setattr(tickets, "_HAS_TICKETS", has_tickets and tickets._HAS_TICKETS)
    log = tmp_path / "log.db"
    order: list[int] = []

    def wait(number: int) -> None:
        with turn(log, "take", "Ina", silent):
            order.append(number)

    threads = [threading.Thread(target=wait, args=(number,)) for number in range(8)]
    with turn(log, "take", "Ina", silent):
        for each in threads:
            each.start()
            time.sleep(0.05)
    for each in threads:
        each.join()
    assert order == list(range(8))


def test_who_waits_is_told_and_a_killed_writer_holds_up_nobody(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    said: list[str] = []
    held = threading.Event()
    with shared().call(
        "tests.store.workers:hold_the_turn", str(log), stdout=PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "holding\n"

        def wait() -> None:
            with turn(log, "take", "Oda", said.append):
                held.set()

        waiter = threading.Thread(target=wait)
        waiter.start()
        deadline = time.monotonic() + 10
        while not said and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not held.is_set()
        process.send_signal(signal.SIGKILL)
        waiter.join(10)
    assert held.is_set()
    assert said[0].startswith("somebody else is writing: load (Ina), since ")
    assert "Ctrl-C" in said[0]


def test_patience_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(queueing, "PATIENCE_S", 0.3)
    log = tmp_path / "log.db"
    errors: list[BaseException] = []

    def wait() -> None:
        try:
            with turn(log, "take", "Oda", silent):
                pass
        except LogbookError as error:
            errors.append(error)

    with turn(log, "load", "Ina", silent):
        waiter = threading.Thread(target=wait)
        waiter.start()
        waiter.join()
    assert "load (Ina)" in str(errors[0])
    # Nobody who gave up keeps the lock.
    time.sleep(0.1)
    with turn(log, "take", "Ina", silent):
        pass


def test_nobody_who_comes_late_goes_before_those_who_wait(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    path = queueing.queue_file(log)
    first, second, third = (os.open(path, os.O_RDWR | os.O_CREAT) for _ in range(3))
    try:
        drawn = [tickets.draw(each) for each in (first, second)]
        assert drawn == sorted(set(drawn))
        assert tickets.is_next(first, drawn[0])
        assert not tickets.is_next(second, drawn[1])
        tickets.give_back(first, drawn[0])
        late = tickets.draw(third)
        assert not tickets.is_next(third, late)  # the second has not even looked yet
        assert tickets.is_next(second, drawn[1])
        os.close(second)  # killed at work
        assert tickets.is_next(third, late)
    finally:
        os.close(first)
        os.close(third)


def test_a_turn_within_a_turn_is_the_same(tmp_path: Path) -> None:
    with turn(tmp_path / "a", "x", "y", silent), turn(tmp_path / "a", "x", "y", silent):
        pass


def test_a_folder_without_locks_has_no_queue(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(95, os.strerror(95))

    monkeypatch.setattr(tickets.fcntl, "flock", refuse)
    with open_log(str(tmp_path / "log.db")) as store:
        fill(store)
        with store.change("take") as change:
            take(change, 99, "day one")


def test_a_wait_on_either_database_is_told(store: Store) -> None:
    fill(store)
    said: list[str] = []
    other = Store(store.target, store.engine, said.append)

    def wait() -> None:
        with other.change("take keeper", who="Oda") as change:
            take(change, 98, "day one")

    waiter = threading.Thread(target=wait)
    with store.change("load day.toml", who="Ina") as change:
        take(change, 97, "day one")
        waiter.start()
        deadline = time.monotonic() + 10
        while not said and time.monotonic() < deadline:
            time.sleep(0.05)
    waiter.join(10)
    assert said
    assert said[0].startswith("somebody else is writing: load (Ina), since ")
