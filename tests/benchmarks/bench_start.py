"""How quickly a command is there: whole processes, against the bare libraries they need.

Run as `python tests/benchmarks/bench_start.py`; exits 1 where a target is missed. Each figure is
the ratio of the shortest of many runs to the shortest of its baseline, taken in turns so that
both meet the same weather. Byte code is compiled first, as an installer does it, into a folder
of this run's own.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
RUNS = int(os.environ.get("BENCH_RUNS", "20"))
LOGBOOK = (sys.executable, "-c", "from logbook.cli.main import main; main()")


class Figure(NamedTuple):
    """A command, what it is measured against, and how many times as long it may take."""

    name: str
    command: Sequence[str]
    baseline: str
    target: float
    needs_sample: bool = False


FIGURES = (
    Figure('chord "x 0 2 2 1 0"', ("chord", "x 0 2 2 1 0"), "import typer", 2.0),
    Figure(
        "sheet on the sample",
        ("sheet", "Varnish"),
        "import sqlalchemy.orm, rich.table, typer",
        1.4,
        needs_sample=True,
    ),
    Figure("take", ("take", "keeper", "1-8"), "import sqlalchemy", 1.8, needs_sample=True),
    Figure("note", ("note", "t1 keeper 1-8"), "import sqlalchemy", 2.6, needs_sample=True),
    Figure("here", ("here",), "import sqlalchemy", 1.5, needs_sample=True),
    Figure("song list", ("song", "list"), "import sqlalchemy", 1.5, needs_sample=True),
    Figure("takes", ("takes", "varnish"), "import sqlalchemy", 1.5, needs_sample=True),
    Figure("history", ("history",), "import sqlalchemy", 1.5, needs_sample=True),
    Figure("sheet", ("sheet", "varnish"), "import sqlalchemy", 1.5, needs_sample=True),
    Figure("at", ("at", "3"), "import sqlalchemy", 1.5, needs_sample=True),
)


def run_ms(command: Sequence[str], env: dict[str, str]) -> float:
    """Milliseconds one process takes from start to end; raises where it fails."""
    start = perf_counter()
    subprocess.run(command, check=True, env=env, stdout=subprocess.DEVNULL)
    return (perf_counter() - start) * 1000


def measure(figure: Figure, env: dict[str, str]) -> tuple[float, float]:
    """Return the shortest run of a command and of its baseline, in milliseconds."""
    command = (*LOGBOOK, *figure.command)
    baseline = (sys.executable, "-c", figure.baseline)
    times: dict[Sequence[str], list[float]] = {command: [], baseline: []}
    for each in (command, baseline):
        run_ms(each, env)
    for _ in range(RUNS):
        for each, taken in times.items():
            taken.append(run_ms(each, env))
    return min(times[command]), min(times[baseline])


def main() -> int:
    """Print the figures; 1 if a target is missed."""
    missed = 0
    with TemporaryDirectory() as folder:
        env = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        env |= {
            "PYTHONPYCACHEPREFIX": f"{folder}/bytecode",
            "LOGBOOK_DB": f"{folder}/log.db",
            "NO_COLOR": "1",
        }
        shutil.copytree(ROOT / "sample_session", f"{folder}/sample")
        if any(figure.needs_sample for figure in FIGURES):
            load = (*LOGBOOK, "load", f"{folder}/sample/session.toml")
            subprocess.run(load, check=True, env=env, stdout=subprocess.DEVNULL)
            here = (*LOGBOOK, "here", "varnish", "EP", "guitar")
            subprocess.run(here, check=True, env=env, stdout=subprocess.DEVNULL)
        for figure in FIGURES:
            taken, baseline = measure(figure, env)
            ratio = taken / baseline
            missed += ratio > figure.target
            print(
                f"{figure.name:<22} {ratio:.2f} x {figure.baseline} (at most {figure.target} x): "
                f"{taken:.0f} ms, {baseline:.0f} ms"
            )
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main())
