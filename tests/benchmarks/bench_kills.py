"""Six hundred kills and sixteen writers: all of a command or none, nothing lost, nobody starved.

Run as `python tests/benchmarks/bench_kills.py [--kills 600] [--writers 16] [--takes 40]`; with
LOGBOOK_TEST_POSTGRES set the writers write to PostgreSQL too. Commands that change a log (load,
take, undo, restore, import-log --replace, backup) are each killed at moments spread over the time
they take; afterwards the log must open, be sound, and hold all of the command or none of it. Then
writers log takes at once: the figure is the 95th percentile of a take against its median (at most
3), and every confirmed take must be there. While they do, the log is put aside and restored again
and again; what was confirmed must then be in the log or in a copy that was put aside. Exits 1
where anything is lost, torn, or too slow.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.robustness.commands import ROOT, SESSION, done, give
from tests.robustness.test_killed import copied, killed, settle, state_of, whole_time

SAMPLE = ROOT / "sample_session"
AT = ("--song", "low", "--version", "EP", "--part", "guitar")
MOST = 3.0

WRITER = """
import sys, time
from logbook.store.finding import LogPlace
from logbook.store.lifecycle import open_log
from logbook.store.writing import next_take, put
from logbook import records as r
place = LogPlace("Low Tide Ledger", "EP", "guitar")
who, count = sys.argv[2], int(sys.argv[3])
with open_log(sys.argv[1]) as store:
    for _ in range(count):
        begun = time.perf_counter()
        with store.change("take add", who=who) as change:
            number = next_take(change, place, "day two")
            put(change, r.Take(number=number, session="day two", notes=f"{who} {_}"), place)
        print(f"{who} {_}\\t{time.perf_counter() - begun:.6f}", flush=True)
        # Somebody who plays takes his time in between.
        time.sleep(0.02)
"""


def commands(folder: Path) -> dict[str, tuple[Path, tuple[str, ...]]]:
    """What is killed, by a word for it: the log it is given to, and the command."""
    full = folder / "full.db"
    done("load", str(SESSION), LOGBOOK_DB=str(full))
    done("take", "add", *AT, "--session", "day one", LOGBOOK_DB=str(full))
    settle(full)
    empty = folder / "empty.db"
    done("person", "add", "Somebody", LOGBOOK_DB=str(empty))
    settle(empty)
    copy, exported = folder / "copy.bak", folder / "log.jsonl"
    done("backup", str(copy), LOGBOOK_DB=str(full))
    done("export", str(exported), LOGBOOK_DB=str(full))
    return {
        "load": (empty, ("load", str(SESSION))),
        "take": (full, ("take", "add", *AT, "--session", "day two")),
        "undo": (full, ("undo",)),
        "restore": (empty, ("restore", str(copy), "--yes")),
        "import-log": (empty, ("import-log", str(exported), "--replace", "--yes")),
        "backup": (full, ("backup", str(folder / "again.bak"), "--yes")),
    }


def kills(folder: Path, count: int) -> bool:
    """Kill every command at moments spread over its time, and print what became of it."""
    well = True
    chance = random.Random(600)
    tried = commands(folder)
    for word, (start, command) in tried.items():
        log = folder / "victim.db"
        copied(start, log)
        # Once here, so that a forked process has everything imported.
        done(*command, LOGBOOK_DB=str(log))
        copied(start, log)
        before = state_of(log)
        lasted = whole_time(log, command)
        after = state_of(log)
        share = count // len(tried)
        at_work = torn = begun = 0
        for moment in range(share):
            copied(start, log)
            at_work += killed(log, command, (moment + chance.random()) / share * lasted)
            try:
                said = state_of(log).said
            except Exception as error:
                print(f"{word}: {error}")
                said = ""
            torn += said not in (before.said, after.said)
            begun += said == before.said != after.said
        left = len(list(folder.glob(".*.part")))
        well &= torn == 0 and at_work > 0 and left <= 1
        print(
            f"{word:10} {share} kills, {at_work} while it worked: {torn} torn,"
            f" {begun} as before, {share - torn - begun} whole; {left} half files left",
            flush=True,
        )
    return well


def writing(target: str, writers: int, takes: int, *, restoring: Path | None = None) -> bool:
    """Let writers log takes at once (while the log is restored), and print what became of them."""
    shutil.rmtree(Path(target).parent / "backups", ignore_errors=True)
    done("load", str(SESSION), LOGBOOK_DB=target)
    running = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, target, f"player {n}", str(takes)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        for n in range(writers)
    ]  # fmt: skip
    restored = 0
    copies: list[str] = []
    if restoring is not None:
        done("backup", str(restoring), "--yes", LOGBOOK_DB=target)
        while any(each.poll() is None for each in running) and restored < 8:
            # That it waits for the writers is said on the error output.
            given = give("restore", str(restoring), "--yes", LOGBOOK_DB=target)
            assert given.code == 0, given
            copies += _notes_in_copies(target, restored)
            restored += 1
            time.sleep(0.3)
    confirmed: list[str] = []
    seconds: list[float] = []
    errors = ""
    for each in running:
        out, err = each.communicate(timeout=1800)
        errors += err
        for line in out.splitlines():
            note, took = line.split("\t")
            confirmed.append(note)
            seconds.append(float(took))
    there = set(_notes(target)) | set(copies)
    lost = [note for note in confirmed if note not in there]
    kind = "PostgreSQL" if "://" in target else "SQLite"
    if restoring is not None:
        print(
            f"{kind}: {writers} writers, {len(confirmed)} takes confirmed while the log was"
            f" restored {restored} times: {len(lost)} in neither log nor copy",
            flush=True,
        )
        return not lost and not errors and restored > 0
    median = statistics.median(seconds)
    late = statistics.quantiles(seconds, n=20)[-1]
    print(
        f"{kind}: {writers} writers, {len(confirmed)} takes confirmed, {len(lost)} lost; a take"
        f" {median * 1000:.0f} ms, 95th percentile {late * 1000:.0f} ms: {late / median:.2f} x"
        f" (at most {MOST})",
        flush=True,
    )
    if errors:
        print(errors)
    return not lost and not errors and late / median <= MOST


def _notes(target: str) -> list[str]:
    from logbook.store.lifecycle import open_log

    with open_log(target) as store, store.reading() as connection:
        return [row[0] for row in connection.exec_driver_sql("SELECT notes FROM take")]


def _notes_in_copies(target: str, seen: int) -> list[str]:
    """What stands in the copies that were put aside last; older ones were read before."""
    from logbook.store.copies import kept
    from logbook.store.lifecycle import open_log

    with open_log(target) as store:
        found = kept(store)
    notes: list[str] = []
    for path in found:
        if path.suffix == ".jsonl":
            import json

            for line in path.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                if row.get("table") == "take":
                    notes.append(row["row"]["notes"])
        else:
            import sqlite3
            from contextlib import closing

            with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as log:
                notes += [row[0] for row in log.execute("SELECT notes FROM take")]
    return notes


def main() -> int:
    """Kill, write and restore; print the figures, and say whether all was well."""
    parser = argparse.ArgumentParser(description="Kills and writers.")
    parser.add_argument("--kills", type=int, default=600)
    parser.add_argument("--writers", type=int, default=16)
    parser.add_argument("--takes", type=int, default=40)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        well = kills(folder, asked.kills) if asked.kills else True
        many = asked.writers, asked.takes
        well &= writing(f"{folder}/writers.db", *many)
        well &= writing(f"{folder}/restored.db", *many, restoring=folder / "mine.bak")
        server = os.environ.get("LOGBOOK_TEST_POSTGRES", "")
        if server:
            import psycopg

            names = [f"logbook_kills_{os.getpid()}_{n}" for n in range(2)]
            with psycopg.connect(server, autocommit=True) as connection:
                for name in names:
                    connection.execute(f"CREATE DATABASE {name}")
                try:
                    head = server.rpartition("/")[0]
                    well &= writing(f"{head}/{names[0]}", *many)
                    mine = folder / "mine.jsonl"
                    well &= writing(f"{head}/{names[1]}", *many, restoring=mine)
                finally:
                    for name in names:
                        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
    print("met" if well else "MISSED")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
