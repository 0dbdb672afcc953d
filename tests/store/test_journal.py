"""A log in a folder without shared memory: it works, the user is told once, it comes back."""

from __future__ import annotations

import errno
import mmap
import os
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from logbook import records as r
from logbook.store import journal, restoring
from logbook.store.backup import backup
from logbook.store.journal import ONE_MACHINE
from logbook.store.lifecycle import open_log, restore_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.writing import put

_connect = sqlite3.connect


class Share:
    """Stands in for such a folder: SQLite's own way to files that has no shared memory maps."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._patch = monkeypatch

    def on(self) -> None:
        def connect(database: Any, *args: Any, **kwargs: Any) -> sqlite3.Connection:
            address = str(database)
            if not address.startswith("file:"):
                address = Path(address).absolute().as_uri()
            address += ("&" if "?" in address else "?") + "vfs=unix-dotfile"
            return _connect(address, *args, **{**kwargs, "uri": True})

        self._patch.setattr(sqlite3, "connect", connect)
        self._patch.setattr(sqlite3.dbapi2, "connect", connect)

    def off(self) -> None:
        self._patch.setattr(sqlite3, "connect", _connect)
        self._patch.setattr(sqlite3.dbapi2, "connect", _connect)


@pytest.fixture
def share(monkeypatch: pytest.MonkeyPatch) -> Share:
    return Share(monkeypatch)


def write(path: Path, name: str) -> list[str]:
    """Add a person; return what the user was told."""
    told: list[str] = []
    with open_log(str(path), notice=told.append) as store, store.change("add") as change:
        put(change, r.Person(name=name))
    return told


def mode(store: Store) -> str:
    with store.reading() as connection:
        return str(connection.exec_driver_sql("PRAGMA journal_mode").scalar())


def names(path: Path) -> list[str]:
    with open_log(str(path)) as store, store.reading() as connection:
        return [person.name for person in read_log(connection).people]


def test_a_new_log_there_says_once_that_one_machine_may_write(tmp_path: Path, share: Share) -> None:
    share.on()
    path = tmp_path / "log.db"
    assert write(path, "Ada") == [ONE_MACHINE]
    assert write(path, "Ned") == []
    with open_log(str(path)) as store:
        assert mode(store) == "delete"
        copy = backup(store, tmp_path / "copy.db")
    assert write(path, "Ina") == []
    restore_log(str(path), copy)
    assert names(path) == ["Ada", "Ned"]


def test_a_log_that_was_carried_there_works_and_goes_back(tmp_path: Path, share: Share) -> None:
    path = tmp_path / "log.db"
    assert write(path, "Ada") == []
    share.on()
    assert write(path, "Ned") == [ONE_MACHINE]
    assert write(path, "Ina") == []
    share.off()
    assert write(path, "Uma") == []
    with open_log(str(path)) as store:
        assert mode(store) == "wal"
    assert names(path) == ["Ada", "Ned", "Ina", "Uma"]
    share.on()
    assert write(path, "Ivo") == [ONE_MACHINE]


def test_whoever_reads_there_for_long_would_hold_up_writers(tmp_path: Path, share: Share) -> None:
    path = str(tmp_path / "log.db")
    for there in (False, True):
        share.on() if there else share.off()
        with open_log(path) as store, store.reading() as connection:
            assert journal.hold_up_writers(connection) == there


def test_a_damaged_log_behind_a_link_is_replaced_behind_it_without_hard_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, link = tmp_path / "far" / "real.db", tmp_path / "log.db"
    real.parent.mkdir()
    write(real, "Ada")
    with open_log(str(real)) as store:
        copy = backup(store, tmp_path / "copy.db")
    link.symlink_to(real)
    damaged = b"no database " * 1000
    real.write_bytes(damaged)

    def link_refused(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(restoring.os, "link", link_refused)
    aside = restore_log(str(link), copy)
    assert aside.parent == real.parent
    assert aside.read_bytes() == damaged
    assert link.is_symlink()
    assert os.path.realpath(link) == str(real)
    assert names(link) == ["Ada"]


def test_a_folder_whose_files_cannot_be_mapped_never_holds_a_log_in_wal_mode(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.db"

    def refused(*_: object) -> None:
        raise OSError(errno.ENODEV, "No such device")

    with monkeypatch.context() as patched:
        patched.setattr(mmap, "mmap", refused)
        patched.setattr(journal, "leave_wal", lambda _: pytest.fail("others would have seen it"))
        assert write(path, "Ada") == [ONE_MACHINE]
        assert write(path, "Ned") == []
    assert write(path, "Ina") == []
    with open_log(str(path)) as store:
        assert mode(store) == "wal"
    assert names(path) == ["Ada", "Ned", "Ina"]
