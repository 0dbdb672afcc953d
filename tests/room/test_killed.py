"""A room that is killed between two keys: what was answered is in the log."""

from __future__ import annotations

import random
from pathlib import Path
from subprocess import PIPE

import pytest

from logbook.room.working import Room
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from tests.room.test_working import DAY, started
from tests.warm import shared


@pytest.mark.parametrize("seed", range(4))
def test_nothing_answered_is_lost(file_store: Store, tmp_path: Path, seed: int) -> None:
    started(file_store)
    assert file_store.path is not None
    stop_after = random.Random(seed).randint(2, 9)
    with shared().call(
        "tests.room.workers:press", str(file_store.path), DAY,
        stdout=PIPE, text=True, cwd=tmp_path,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        answered = [process.stdout.readline() for _ in range(stop_after)]
        process.kill()
        answered += process.stdout.readlines()
    whole = [each for each in answered if each.endswith("\n")]
    with open_log(str(file_store.path)) as store:
        with store.reading() as connection:
            takes = read_log(connection).songs[0].versions[0].parts[0].takes
        assert len(whole) <= len(takes) <= len(whole) + 1
        assert [take.number for take in takes] == list(range(1, len(takes) + 1))
        # The next room goes on where it was.
        assert Room(store, who="Oda", today=DAY).rate("reject").done
