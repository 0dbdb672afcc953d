"""Several people at once: no take lost, no number twice, nobody's change overwritten unseen."""

from __future__ import annotations

from collections.abc import Callable
from subprocess import PIPE

import pytest

from logbook import records as r
from logbook.store.editing import edit
from logbook.store.errors import ConflictError
from logbook.store.finding import find
from logbook.store.history import history
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log, read_one
from logbook.store.store import Store
from logbook.store.writing import next_take
from tests.store.filled import GUITAR, fill
from tests.warm import shared

WORKERS = "tests.store.workers"
# Eight with two hundred each are in tests/benchmarks/bench_concurrency.py.
PROCESSES, TAKES = 4, 9
DAY_ONE = GUITAR._replace(session="day one")


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def test_several_processes_log_takes_at_once(fresh: Callable[[], str]) -> None:
    target = fresh()
    with open_log(target) as store:
        fill(store)
    workers = [
        shared().call(
            f"{WORKERS}:log_takes",
            target,
            f"player {n}",
            str(TAKES),
            stdout=PIPE,
            stderr=PIPE,
            text=True,
        )
        for n in range(PROCESSES)
    ]
    numbers: list[int] = []
    for worker in workers:
        out, errors = worker.communicate(timeout=300)
        assert (worker.returncode, errors) == (0, "")
        numbers.extend(map(int, out.split()))
    # Two takes of that day were there before.
    expected = list(range(3, 3 + PROCESSES * TAKES))
    assert sorted(numbers) == expected
    with open_log(target) as store:
        takes = whole(store).songs[0].versions[0].parts[0].takes
        there = [take for take in takes if take.session == "day two" and take.number > 2]
        assert [take.number for take in there] == expected
        for n in range(PROCESSES):
            assert sum(take.notes == f"player {n}" for take in there) == TAKES
        with store.reading() as connection:
            commands = [entry for entry in history(connection) if entry.command == "take add"]
        assert len(commands) == len(expected)


def test_numbers_start_again_in_a_new_session(store: Store) -> None:
    fill(store)
    with store.change("look") as change:
        assert next_take(change, GUITAR, "day one") == 2
        assert next_take(change, GUITAR, "day two") == 3
        assert next_take(change, GUITAR) == 3
        assert next_take(change, GUITAR._replace(part="guitar two"), "day one") == 1


def test_the_second_of_two_edits_is_told_and_shown_both(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        seen = find(connection, "take", "1", DAY_ONE)
    with store.change("take note", who="Ada") as change:
        edit(change, seen, {"notes": "rushed"}, expected_revision=seen.revision)

    def second() -> None:
        with store.change("take note", who="Ben") as change:
            edit(change, seen, {"notes": "perfect"}, expected_revision=seen.revision)

    with pytest.raises(ConflictError) as caught:
        second()
    error = caught.value
    assert error.mine == {"notes": "perfect"}
    assert error.theirs.notes == "rushed"
    assert error.who == "Ada"
    for said in ("Ada", "'rushed'", "'perfect'", "nothing was written"):
        assert said in str(error)
    with store.reading() as connection:
        row = read_one(connection, "take", seen.id)
    assert row is not None
    assert (row.record.notes, row.revision) == ("rushed", seen.revision + 1)


def test_an_edit_of_what_a_take_holds_counts_as_an_edit_of_it(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        seen = find(connection, "take", "1", DAY_ONE)
    with store.change("punch") as change:
        edit(change, seen, {"punch_ins": (r.PunchIn(bars="7"),)})

    def second() -> None:
        with store.change("rate") as change:
            edit(change, seen, {"result": "reject"}, expected_revision=seen.revision)

    with pytest.raises(ConflictError):
        second()


def test_a_removed_take_that_comes_back_is_not_what_was_seen_before(store: Store) -> None:
    from logbook.store.removing import remove
    from logbook.store.undoing import undo

    fill(store)
    with store.reading() as connection:
        seen = find(connection, "take", "1", DAY_ONE)
    with store.change("remove") as change:
        remove(change, seen, confirmed=True)
    undo(store)

    def second() -> None:
        with store.change("rate") as change:
            edit(change, seen, {"result": "reject"}, expected_revision=seen.revision)

    with pytest.raises(ConflictError):
        second()


def test_many_first_commands_at_once_make_one_log(blank: Callable[[], str]) -> None:
    target = blank()
    workers = [
        shared().call(f"{WORKERS}:add_song", target, f"song {n}", stderr=PIPE, text=True)
        for n in range(6)
    ]
    for worker in workers:
        _, errors = worker.communicate(timeout=120)
        assert errors == ""
    with open_log(target) as store:
        assert len(whole(store).songs) == 6
