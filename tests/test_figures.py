"""The run of all benchmarks: one that fails or never ends stops neither the others nor the page."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from tests.benchmarks import run_all

KINDS = {
    "calm": 'print("0.9 x (at most 1.0)")',
    "missing": 'print("2.0 x (at most 1.0)")\nraise SystemExit(1)',
    "torn": 'raise ValueError("no")',
    "waiting": 'import time\nprint("begun", flush=True)\ntime.sleep(60)',
    "writing": 'print("last")',
}


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, body in KINDS.items():
        (tmp_path / f"bench_{name}.py").write_text(f'"""What {name} shows."""\n\n{body}\n')
    monkeypatch.setattr(run_all, "HERE", tmp_path)
    monkeypatch.setattr(run_all, "GRACE_S", 0.1)
    return tmp_path / "figures.md"


def given(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setattr("sys.argv", ["run_all.py", *arguments])
    return run_all.main()


def test_every_one_is_written_down_however_it_ends(
    page: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Long enough for Python to begin on a machine that is busy.
    assert given(monkeypatch, "calm", "missing", "torn", "writing", "--out", str(page)) == 1
    assert given(monkeypatch, "waiting", "--out", str(page), "--minutes", "0.02") == 1
    sections = run_all.sections_in(page.read_text())
    assert list(sections) == sorted(KINDS)
    for name, ended in {
        "calm": "**met**", "missing": "**MISSED**", "torn": "**FAILED (exit code 1)**",
        "waiting": "**STOPPED after 0.0 minutes**", "writing": "**met**",
    }.items():  # fmt: skip
        assert ended in sections[name]
        assert f"What {name} shows." in sections[name]
        assert datetime.datetime.now().astimezone().date().isoformat() in sections[name]
        assert "at its full size" in sections[name]
        assert "processors" in sections[name]


def test_no_other_begins_when_the_time_is_over(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert given(monkeypatch, "calm", "missing", "--out", str(page), "--total", "1e-9") == 1
    assert not page.exists()
