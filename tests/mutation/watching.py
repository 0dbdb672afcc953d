"""While tests run: which of them pass through which line of the modules that are watched.

A plug-in of pytest for `run.py`, which says in WATCHED which modules and in WATCHED_TO where the
answer goes: seconds by test, and tests by line by module, as JSON. Tests that fail are left out.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

MODULES = os.environ["WATCHED"].split()
_here = Path.cwd()
_coverage = coverage.Coverage(data_file=None, include=[str(_here / each) for each in MODULES])
_seconds: dict[str, float] = {}
_failed: set[str] = set()


def pytest_sessionstart() -> None:
    """Begin before any test module is read."""
    _coverage.start()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Let whatever runs now stand under the test's name."""
    _coverage.switch_context(item.nodeid)
    before = time.perf_counter()
    ended = yield
    _seconds[item.nodeid] = round(time.perf_counter() - before, 3)
    _coverage.switch_context("")
    return ended


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note what fails with nothing changed."""
    if report.failed:
        _failed.add(report.nodeid)


def pytest_sessionfinish() -> None:
    """Write what was seen."""
    _coverage.stop()
    data = _coverage.get_data()
    lines = {}
    for module in MODULES:
        by_line = data.contexts_by_lineno(str(_here / module))
        told = {n: [t for t in tests if t and t not in _failed] for n, tests in by_line.items()}
        lines[module] = {n: tests for n, tests in told.items() if tests}
    Path(os.environ["WATCHED_TO"]).write_text(json.dumps([_seconds, lines]), encoding="utf-8")
