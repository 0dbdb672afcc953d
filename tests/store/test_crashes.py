"""A process killed at any moment leaves a sound log that holds all of a command or none."""

from __future__ import annotations

import random
import shutil
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from subprocess import PIPE

from logbook.store.backup import examine
from logbook.store.lifecycle import open_log
from logbook.store.store import Store
from tests.store.filled import fill
from tests.warm import shared

MOMENTS = 15


def sound(path: Path) -> None:
    """The file passes SQLite's own checks, and every command in it is whole."""
    with open_log(str(path), create=False) as store, store.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() == []
        per_load = connection.exec_driver_sql(
            "SELECT COUNT(*) FROM change h JOIN command c ON c.id = h.command_id"
            " WHERE c.command LIKE 'load %' AND c.command <> 'load small.toml' GROUP BY c.id"
        )
        # Five takes with two punch-ins each.
        assert {row[0] for row in per_load} <= {15}
        bare = connection.exec_driver_sql(
            "SELECT COUNT(*) FROM take t WHERE t.number > 2 AND (SELECT COUNT(*) FROM punch_in p"
            " WHERE p.take_id = t.id) <> 2"
        ).scalar()
        assert bare == 0
        takes = connection.exec_driver_sql("SELECT COUNT(*) FROM take WHERE number > 2").scalar()
        assert takes is not None
        assert takes % 5 == 0


def test_killed_at_random_moments(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    file_store.close()
    start = tmp_path / "start.db"
    shutil.copy(file_store.path or "", start)
    chance = random.Random(8)
    worked = told = 0
    log = tmp_path / "victim.db"
    shutil.copy(start, log)
    for moment in range(MOMENTS):
        worker = shared().call(
            "tests.store.workers:work_without_end",
            str(log),
            str(tmp_path),
            stdout=PIPE,
            stderr=PIPE,
        )
        assert worker.stdout is not None
        assert worker.stdout.readline() == b"ready\n"
        # However slow the machine is: some as they open the log, the others after two commits.
        for turn in range(1, 3 if moment % 5 else 1):
            assert worker.stdout.readline() == b"%d\n" % turn
            told += 1
        time.sleep(chance.uniform(0.0, 0.4))
        worker.send_signal(signal.SIGKILL)
        _, errors = worker.communicate(timeout=60)
        assert errors == b""
        sound(log)
        copy = tmp_path / "copy.db"
        if copy.exists():
            assert examine(copy) == ""
        with closing(sqlite3.connect(log)) as connection:
            worked = connection.execute("SELECT MAX(id) FROM command").fetchone()[0]
    # What was told is there, and more than one command for every kill.
    assert worked > told > MOMENTS
