"""One trial: tests run in a process of their own, forked from one that has the libraries read.

Reading NumPy, SQLAlchemy and Hypothesis takes longer than most trials, and is the same in each.
Nothing of the project or of its tests is read before the fork: that is what is tried.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from multiprocessing.process import BaseProcess
from pathlib import Path

LIBRARIES = ["numpy", "pytest", "hypothesis", "hypothesis.extra.numpy", "sqlalchemy.orm"]
LIBRARIES += ["sqlalchemy.dialects.sqlite", "alembic.command", "rich.console", "rich.table"]
LIBRARIES += ["typer", "typer.testing", "mutagen", "music21"]
NONE_RAN = 5  # pytest's exit code where no test was collected
_forking = multiprocessing.get_context("forkserver")
_forking.set_forkserver_preload(LIBRARIES)


def fails(tree: Path, options: list[str], nodes: list[str], longest_seconds: float) -> bool:
    """Return whether one of the tests, run in this copy of the tree, fails or takes too long."""
    if not nodes:
        return False
    asked = tree / "asked.txt"
    asked.write_text("\n".join(nodes), encoding="utf-8")
    trial = _forking.Process(target=_run, args=(str(tree), [*options, "-x", f"@{asked}"]))
    trial.start()
    trial.join(longest_seconds)
    return _ended(trial) not in (0, NONE_RAN)


def _ended(trial: BaseProcess) -> int | None:
    if trial.exitcode is None:
        trial.kill()
        trial.join()
    return trial.exitcode


def _run(tree: str, arguments: list[str]) -> None:
    os.chdir(tree)
    os.setsid()
    here = Path(__file__).resolve()
    sys.path[:] = [tree, *(p for p in sys.path if Path(p).resolve() not in (*here.parents, tree))]
    sys.dont_write_bytecode = True
    os.environ.update(PYTHONPATH=tree, PYTHONDONTWRITEBYTECODE="1")
    os.environ["LOGBOOK_TEST_COMPILE_ALWAYS"] = "yes"
    os.environ.pop("LOGBOOK_TEST_POSTGRES", None)
    for name in list(sys.modules):
        if name.split(".")[0] in ("logbook", "tests"):
            del sys.modules[name]
    silent = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(silent, stream)
    import pytest

    os._exit(int(pytest.main(arguments)))
