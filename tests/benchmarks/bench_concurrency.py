"""Eight processes log 200 takes each at once: none lost, and how long a take takes then.

Run as `python tests/benchmarks/bench_concurrency.py`; with LOGBOOK_TEST_POSTGRES set, on PostgreSQL
too. The baseline is one process that logs as many alone; the figure is the time per take of eight
at once against it. Exits 1 where a take is lost, an error is shown, or waiting for one another
costs more than three times the work itself.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.robustness.commands import ROOT, done
from tests.robustness.test_two_at_once import PART, THERE

PROCESSES, TAKES = 8, int(os.environ.get("LOGBOOK_BENCH_TAKES", "200"))
MOST = 3.0
PLAYER = "import sys; from tests.robustness.commands import take_passes; take_passes(*sys.argv[1:])"


def players(target: str, processes: int, takes: int) -> tuple[float, list[int]]:
    """Let processes log takes at once; the seconds it took, and the numbers that were given."""
    begun = time.perf_counter()
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PLAYER, f"player {n}", str(takes), *PART],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, "LOGBOOK_DB": target, "LOGBOOK_USER": f"player {n}"},
        )
        for n in range(processes)
    ]
    numbers = []
    for each in running:
        out, err = each.communicate(timeout=3600)
        # Whoever had to wait for long is told for whom; that is no error.
        errors = [line for line in err.splitlines() if not line.startswith("somebody else is")]
        if each.returncode or errors:
            sys.exit(f"an error was shown: {err}")
        numbers += [int(line.split()[1]) for line in out.splitlines()]
    return time.perf_counter() - begun, sorted(numbers)


def measured(name: str, alone: str, together: str) -> bool:
    """Measure one kind of database; the two logs are empty."""
    for target in (alone, together):
        done("load", str(ROOT / "sample_session"), LOGBOOK_DB=target)
    base, _ = players(alone, 1, PROCESSES * TAKES)
    took, numbers = players(together, PROCESSES, TAKES)
    wanted = list(range(THERE + 1, THERE + 1 + PROCESSES * TAKES))
    listed = json.loads(
        done("take", "list", "--json", "--song", "low", "--part", "guitar", LOGBOOK_DB=together)
    )
    there = [each["number"] for each in listed if each["number"] > THERE]
    kept = numbers == wanted == sorted(there)
    print(
        f"{name}: {len(numbers)} takes, {'none lost' if kept else 'TAKES LOST'}; one process alone "
        f"{base / len(wanted) * 1000:.0f} ms a take, eight at once {took / len(wanted) * 1000:.0f} "
        f"ms: {took / base:.2f} x (at most {MOST})"
    )
    return kept and took / base <= MOST


def main() -> int:
    """Measure both kinds of database."""
    with tempfile.TemporaryDirectory() as folder:
        well = measured("SQLite", f"{folder}/alone.db", f"{folder}/together.db")
    server = os.environ.get("LOGBOOK_TEST_POSTGRES", "")
    if server:
        import psycopg

        names = [f"logbook_bench_{os.getpid()}_{n}" for n in range(2)]
        with psycopg.connect(server, autocommit=True) as connection:
            for name in names:
                connection.execute(f"CREATE DATABASE {name}")
            try:
                head = server.rpartition("/")[0]
                well = measured("PostgreSQL", *(f"{head}/{name}" for name in names)) and well
            finally:
                for name in names:
                    connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
