"""A command killed at any moment: the log opens, is sound, and holds all of the command or none.

A process that has everything imported stands by and forks for each command, so that the moments
fall into the command's own work and not into the start of Python. The moments are spread over
the time that the whole command was measured to take.
"""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

import pytest

from logbook.audio.reading import read_audio
from logbook.cli.main import command_table, run
from logbook.store.backup import examine
from logbook.store.copies import kept
from logbook.store.lifecycle import open_log
from tests.robustness.commands import ROOT, SESSION, done

SAMPLE = ROOT / "sample_session"
MOMENTS = 33
# How many of the moments fall into which command; six hundred are in bench_kills.py.
SHARES = {"load": 7, "import": 6, "add": 7, "undo": 5, "backup": 4, "tag": 4}
ASIDE = ("command", "change", "checked", "here", "alembic_version")


class State(NamedTuple):
    """What a log says, without who said it when, and how many commands it remembers."""

    said: str
    commands: int


class Trial(NamedTuple):
    """A command, and the log it is given to."""

    start: Path
    command: tuple[str, ...]


def state_of(path: Path) -> State:
    """See that the file is sound, and say what is in it."""
    with open_log(str(path), create=False):
        pass
    with closing(sqlite3.connect(path)) as log:
        assert log.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert log.execute("PRAGMA foreign_key_check").fetchall() == []
        tables = sorted(
            row[0]
            for row in log.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if not row[0].startswith("sqlite_") and row[0] not in ASIDE
        )
        digest = hashlib.sha256()
        for table in tables:
            for row in log.execute(f'SELECT * FROM "{table}" ORDER BY id'):
                digest.update(repr(row).encode())
        (commands,) = log.execute("SELECT COUNT(*) FROM command").fetchone()
    return State(digest.hexdigest(), commands)


def copied(start: Path, goal: Path) -> None:
    for rest in ("-wal", "-shm"):
        goal.with_name(goal.name + rest).unlink(missing_ok=True)
    shutil.copy(start, goal)


def forked(log: Path, command: tuple[str, ...]) -> int:
    """Give a command in a process of its own, and return that process's number."""
    child = os.fork()
    if child:
        return child
    try:
        os.environ["LOGBOOK_DB"] = str(log)
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
        code = run(command)
    except BaseException:
        code = 99
    os._exit(code)


def whole_time(log: Path, command: tuple[str, ...]) -> float:
    """Give the whole command and say how long it takes; it must succeed."""
    begun = time.perf_counter()
    _, status = os.waitpid(forked(log, command), 0)
    assert os.waitstatus_to_exitcode(status) == 0, command
    return time.perf_counter() - begun


def killed(log: Path, command: tuple[str, ...], after: float) -> bool:
    """Give the command and kill it after so many seconds; say whether it was still at work."""
    child = forked(log, command)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    ended = os.waitstatus_to_exitcode(status)
    assert ended in (0, -signal.SIGKILL), (command, ended)
    return ended != 0


@pytest.fixture(scope="module")
def warm(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Give every kind of command once here, so that a fork has it all imported."""
    folder = tmp_path_factory.mktemp("warm")
    log = {"LOGBOOK_DB": str(folder / "log.db")}
    done("load", str(SESSION), **log)
    shutil.copytree(SAMPLE, folder / "session")
    done("import", str(folder / "session"), **log)
    done("person", "add", "Somebody", **log)
    done("undo", **log)
    done("backup", str(folder / "copy.db"), **log)
    done("tag", "low", "--in-place", **log)


@pytest.fixture
def trials(sample_file: Path, tmp_path: Path) -> Callable[[str], Trial]:
    """What each command is tried on."""

    def trial(kind: str) -> Trial:
        start = tmp_path / f"before-{kind}.db"
        shutil.copy(sample_file, start)
        env = {"LOGBOOK_DB": str(start)}
        if kind == "load":
            more = SESSION.read_text(encoding="utf-8")
            for title in ("Low Tide Ledger", "Lantern on the Slip", "Varnish", "Rowan Gate"):
                more = more.replace(title, f"Second {title}")
            (tmp_path / "more.toml").write_text(more, encoding="utf-8")
            return Trial(start, ("load", str(tmp_path / "more.toml")))
        if kind == "add":
            at = ("--song", "low", "--version", "EP", "--at", "guitar", "--session", "day one")
            return Trial(start, ("take", "keeper", "1-8", "the one", "--punch", "3", *at))
        if kind == "backup":
            return Trial(start, ("backup", str(tmp_path / "copy.db"), "--yes"))
        session = tmp_path / "session"
        if not session.exists():
            shutil.copytree(SAMPLE, session)
        if kind == "import":
            return Trial(start, ("import", str(session)))
        if kind == "tag":
            done("import", str(session), **env)
            settle(start)
            return Trial(start, ("tag", "low", "--in-place"))
        done("setlist", "remove", "harbour fair", "--yes", **env)
        done("project", "remove", "Slack Water", "--yes", **env)
        done("song", "remove", "Rowan Gate", "--yes", **env)
        settle(start)
        return Trial(start, ("undo", "3"))

    return trial


def settle(path: Path) -> None:
    """Put everything into the one file, so that it can be copied."""
    with closing(sqlite3.connect(path)) as log:
        log.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@pytest.mark.parametrize("kind", SHARES)
def test_killed_at_random_moments(
    kind: str, trials: Callable[[str], Trial], warm: None, tmp_path: Path
) -> None:
    assert sum(SHARES.values()) == MOMENTS
    if kind not in command_table() and kind != "add":
        pytest.skip(f"there is no command {kind}")
    start, command = trials(kind)
    log = tmp_path / "log.db"
    audio = tmp_path / "session"
    fresh = {path: path.read_bytes() for path in audio.glob("*") if kind == "tag"}
    copied(start, log)
    before = state_of(log)
    lasted = whole_time(log, command)
    after = state_of(log)
    changes = kind in ("load", "import", "add", "undo")
    assert (after.said != before.said) == changes or kind == "tag"
    tagged = {path: path.read_bytes() for path in fresh}
    chance = random.Random(kind)
    at_work = 0
    for moment in range(SHARES[kind]):
        copied(start, log)
        for path, content in fresh.items():
            path.write_bytes(content)
        # One in every slice of the command's time, so that no part of it is left out.
        share = (moment + chance.random()) / SHARES[kind]
        at_work += killed(log, command, share * lasted)
        now = state_of(log)
        if changes:
            assert now in (before, after), f"neither all nor none after {share:.0%}"
        copy = tmp_path / "copy.db"
        if copy.exists():
            assert examine(copy) == ""
        for path in fresh:
            content = path.read_bytes()
            assert content in (fresh[path], tagged[path]), f"{path} is neither old nor new"
            if path.suffix in {".flac", ".wav", ".ogg", ".mp3"}:
                read_audio(path)
    assert at_work > SHARES[kind] / 4
    # What comes next works as if nothing had happened.
    copied(start, log)
    killed(log, command, lasted / 2)
    assert whole_time(log, ("person", "add", "Who comes next")) > 0


def test_copies_put_aside_are_whole_however_often_that_was_cut_short(
    sample_file: Path, warm: None, tmp_path: Path
) -> None:
    log = tmp_path / "log.db"
    copied(sample_file, log)
    lasted = whole_time(log, ("backup",))
    for moment in range(5):
        killed(log, ("backup",), lasted * moment / 5)
    with open_log(str(log)) as store:
        found = kept(store)
    assert found
    assert [examine(path) for path in found] == [""] * len(found)
