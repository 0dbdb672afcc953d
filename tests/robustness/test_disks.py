"""A full disk, a folder that may only be read, and another user: told, and nothing changed."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from logbook.store.backup import examine
from tests.robustness.commands import COMMAND, ROOT, SESSION, one_sentence
from tests.warm import shared

Runner = Callable[..., "subprocess.CompletedProcess[str]"]
IN_PLACE = """
set -eu
mount -t tmpfs -o "$OPTIONS" none "$PLACE"
cp "$START" "$PLACE/log.db"
[ -z "$FILLED" ] || dd if=/dev/zero of="$PLACE/filler" bs=4k 2>/dev/null || true
[ -z "$LOCKED" ] || mount -o remount,ro "$PLACE"
cd "$ROOT"
set +e
"$@"
code=$?
cp "$PLACE/log.db" "$RESULT"
ls -A "$PLACE" > "$LISTING"
exit $code
"""


def namespaces() -> bool:
    if shutil.which("unshare") is None:
        return False
    tried = subprocess.run(
        ["unshare", "-m", "mount", "-t", "tmpfs", "none", "/mnt"], capture_output=True, check=False
    )
    return tried.returncode == 0


pytestmark = pytest.mark.skipif(
    not namespaces(), reason="small and locked disks need a mount namespace of one's own"
)


class Disk:
    """A little disk with the sample's log on it, in a mount namespace of its own."""

    def __init__(self, tmp_path: Path, start: Path) -> None:
        self.place = tmp_path / "disk"
        self.place.mkdir()
        self.start, self.result, self.listing = start, tmp_path / "after.db", tmp_path / "listing"

    def give(
        self, *command: str, size: str = "", filled: bool = False, locked: bool = False
    ) -> subprocess.CompletedProcess[str]:
        """Give a command to the log on the disk; its file is in `result` afterwards."""
        logbook = str(shared().folder / "logbook")
        environment = {
            **os.environ,
            "OPTIONS": f"size={size or '64m'}",
            "PLACE": str(self.place),
            "START": str(self.start),
            "FILLED": "yes" if filled else "",
            "LOCKED": "yes" if locked else "",
            "ROOT": str(ROOT),
            "RESULT": str(self.result),
            "LISTING": str(self.listing),
            "LOGBOOK_DB": str(self.place / "log.db"),
        }
        return subprocess.run(
            ["unshare", "-m", "bash", "-c", IN_PLACE, "disk", logbook, *command],
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
            env=environment,
        )

    def unchanged(self) -> None:
        """The log is sound and says what it said before."""
        import sqlite3
        from contextlib import closing

        assert examine(self.result) == ""
        dumps = []
        for path in (self.start, self.result):
            with closing(sqlite3.connect(path)) as log:
                # What checks remember of a song is no part of the log.
                dumps.append([line for line in log.iterdump() if "checked" not in line[:50]])
        assert dumps[0] == dumps[1]


@pytest.fixture
def disk(tmp_path: Path, sample_file: Path) -> Disk:
    start = tmp_path / "start.db"
    shutil.copy(sample_file, start)
    return Disk(tmp_path, start)


def big_file(folder: Path) -> Path:
    """A session file that fills more than a little disk."""
    path = folder / "big.toml"
    lines = [f'[[person]]\nname = "person {n}"\nfull_name = "{"x" * 2000}"\n' for n in range(1500)]
    path.write_text("".join(lines), encoding="utf-8")
    return path


AT = ("--song", "low", "--version", "EP", "--at", "guitar", "--session", "day one")


@pytest.mark.parametrize(
    "command",
    [
        ("take", "keeper", *AT),
        ("load", "{big}"),
        ("song", "remove", "Rowan Gate", "--yes"),
        ("backup",),
        ("export", "{place}/log.jsonl"),
        ("dump", "--out", "{place}/log.toml"),
        ("restore", "{copy}", "--yes"),
    ],
    ids=lambda command: command[0],
)
def test_a_full_disk(command: tuple[str, ...], disk: Disk, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    shutil.copy(disk.start, copy)
    named = {"big": str(big_file(tmp_path)), "place": str(disk.place), "copy": str(copy)}
    ended = disk.give(*(each.format(**named) for each in command), filled=True, size="2m")
    assert ended.returncode == 2, ended
    said = one_sentence(ended.stderr)
    assert "full" in said or "space" in said, said
    disk.unchanged()
    left = set(disk.listing.read_text(encoding="utf-8").split())
    assert left <= {"log.db", "log.db-wal", "log.db-shm", "filler", "backups"}, left


def test_a_disk_that_fills_up_on_the_way(disk: Disk, tmp_path: Path) -> None:
    ended = disk.give("load", str(big_file(tmp_path)), size="3m")
    assert ended.returncode == 2, ended
    assert "the disk is full, and nothing was changed" in one_sentence(ended.stderr)
    disk.unchanged()


@pytest.mark.parametrize(
    "command",
    [
        ("take", "keeper", *AT),
        ("load", str(SESSION.parent)),
        ("undo",),
        ("song", "remove", "Rowan Gate", "--yes"),
        ("backup",),
        ("restore", "{copy}", "--yes"),
        ("here", "low"),
    ],
    ids=lambda command: command[0],
)
def test_a_disk_that_may_only_be_read(command: tuple[str, ...], disk: Disk, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    shutil.copy(disk.start, copy)
    ended = disk.give(*(each.format(copy=copy) for each in command), locked=True)
    assert ended.returncode == 2, ended
    said = one_sentence(ended.stderr)
    assert any(word in said for word in ("read", "written", "made", "Read-only")), said
    disk.unchanged()


def test_a_new_log_where_nothing_may_be_written(disk: Disk) -> None:
    for place in ("new.db", "folder/new.db"):
        ended = disk.give("--db", str(disk.place / place), "here", locked=True)
        assert ended.returncode == 2
        one_sentence(ended.stderr)


@pytest.mark.parametrize("command", ["sheet low", "takes low", "history", "check", "dump"])
def test_reading_from_a_disk_that_may_only_be_read(command: str, disk: Disk) -> None:
    ended = disk.give(*command.split(), locked=True)
    if ended.returncode == 2:
        one_sentence(ended.stderr)
    else:
        assert ended.stdout
        assert ended.stderr == ""
    disk.unchanged()


@pytest.mark.skipif(
    os.geteuid() != 0 or shutil.which("setpriv") is None, reason="only root can be somebody else"
)
def test_somebody_else_who_may_only_read(disk: Disk, tmp_path: Path) -> None:
    if not os.access(COMMAND[0], os.X_OK):
        pytest.skip("nobody else may run this Python")
    other = ("setpriv", "--reuid=65534", "--regid=65534", "--clear-groups")
    shown = Path("/tmp") / f"logbook-shown-{os.getpid()}"
    shown.mkdir(mode=0o755)
    try:
        log = shown / "log.db"
        shutil.copy(disk.start, log)
        before = log.read_bytes()
        can = subprocess.run(
            [*other, *COMMAND, "--version"], capture_output=True, check=False, cwd=ROOT
        )
        if can.returncode:
            pytest.skip("nobody else may run this program")
        ended = subprocess.run(
            [*other, *COMMAND, "--db", str(log), "take", "keeper", *AT],
            capture_output=True,
            text=True,
            check=False,
            cwd=ROOT,
        )
        assert ended.returncode == 2
        assert "nothing was changed" in one_sentence(ended.stderr)
        assert log.read_bytes() == before
    finally:
        shutil.rmtree(shown)
