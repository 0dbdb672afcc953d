"""Whatever replaces a log puts it aside first, while nobody else can write."""

from __future__ import annotations

import datetime
import os
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from logbook import records as r
from logbook.cli.answering import write_file
from logbook.errors import LogbookError
from logbook.store import backup as backup_module
from logbook.store.backup import backup, examine, put_aside
from logbook.store.copies import KEPT, kept
from logbook.store.exchange import import_log, replace_log
from logbook.store.here import Here, read_here, set_here
from logbook.store.lifecycle import open_log, restore_log
from logbook.store.log_file import export_log
from logbook.store.reading import read_log
from logbook.store.restoring import restore
from logbook.store.store import Store
from logbook.store.undoing import redo, undo
from logbook.store.writing import put
from tests.store.filled import fill, take


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def numbers(store: Store) -> set[int]:
    part = whole(store).songs[0].versions[0].parts[0]
    return {each.number for each in part.takes}


@pytest.fixture(autouse=True)
def _own_backups(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))


def test_what_is_replaced_can_be_had_again(store: Store, tmp_path: Path) -> None:
    fill(store)
    export_log(store, tmp_path / "old.jsonl")
    with store.change("more") as change:
        put(change, r.Song(title="Afterwards"))
    before = whole(store)
    _, aside = replace_log(store, tmp_path / "old.jsonl", "before-replace")
    assert whole(store) != before
    restore(store, aside)
    assert whole(store) == before
    undo(store)  # Its history came back too.
    assert "Afterwards" not in [song.title for song in whole(store).songs]


@pytest.mark.parametrize("form", ["copy.db", "copy.jsonl"])
def test_nothing_confirmed_is_lost_under_a_restore(store: Store, tmp_path: Path, form: str) -> None:
    """Takes that were confirmed before the restore are in the copy put aside, later ones in
    the log; none is in neither."""
    fill(store)
    if store.path is None and form == "copy.db":
        pytest.skip("an SQLite copy is for SQLite")
    copy = backup(store, tmp_path / form)
    confirmed: list[set[int]] = [set(), set()]
    stop = threading.Event()

    def write(which: int) -> None:
        number = 1000 * (which + 1)
        while not stop.is_set():
            try:
                with store.change("take add") as change:
                    take(change, number, "day one")
            except LogbookError:
                continue
            confirmed[which].add(number)
            number += 1

    writers = [threading.Thread(target=write, args=(which,)) for which in range(2)]
    for each in writers:
        each.start()
    try:
        while not all(confirmed):
            time.sleep(0.01)
        asides = []
        for _ in range(3):
            asides.append(restore(store, copy))
            time.sleep(0.05)
    finally:
        stop.set()
        for each in writers:
            each.join()
    found = numbers(store)
    for aside in asides:
        restore(store, aside)
        found |= numbers(store)
    assert confirmed[0] | confirmed[1] <= found


def test_a_clock_that_was_set_back_takes_no_copy_away(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(store)
    moments = iter(
        ["20990101T000000.000000Z"] * KEPT
        + [f"19990101T0000{n:02d}.000000Z" for n in range(KEPT + 3)]
    )
    monkeypatch.setattr(backup_module, "moment", lambda: next(moments))
    made = []
    for _ in range(2 * KEPT + 3):
        made.append(put_aside(store, "before-restore"))
        assert made[-1].exists()
    assert kept(store) == made[: -KEPT - 1 : -1]


def test_copies_from_before_they_were_numbered_go_first(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    first = put_aside(file_store, "before-0005")
    name = file_store.path.stem if file_store.path else ""
    old = first.rename(first.with_name(f"{name}-20990101T000000.000000Z-before-0005.db"))
    later = put_aside(file_store, "before-restore")
    assert kept(file_store) == [later, old]


def test_what_a_person_put_aside_stays(file_store: Store) -> None:
    fill(file_store)
    mine = [backup(file_store) for _ in range(KEPT + 2)]
    for _ in range(KEPT + 2):
        put_aside(file_store, "before-restore")
    assert all(each.exists() for each in mine)
    assert len(kept(file_store)) == len(mine) + KEPT


def test_ten_openers_of_an_old_log_make_one_copy(fresh: Callable[[], str], tmp_path: Path) -> None:
    target = fresh()
    with open_log(target) as store:
        from logbook.store.schema import migrate

        migrate(store.engine, store.dialect, "0008", down=True)
    start = threading.Barrier(10)
    problems: list[BaseException] = []

    def opener() -> None:
        start.wait()
        try:
            open_log(target).close()
        except BaseException as error:
            problems.append(error)

    threads = [threading.Thread(target=opener) for _ in range(10)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert problems == []
    with open_log(target) as store:
        assert len(kept(store)) == 1


def test_copies_of_two_servers_are_told_apart() -> None:
    from logbook.store.copies import stem
    from logbook.store.targets import read_target

    names = set()
    for address in ("postgresql://u:p@one/log", "postgresql://u:p@two/log", "postgresql://one/x"):
        target = read_target(address)
        names.add(stem(Store(target, None)))  # type: ignore[arg-type]
    assert names == {"one-log", "two-log", "one-x"}


def test_copies_are_told_apart_however_the_log_is_named(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A service file names server and database where the address does not."""
    from sqlalchemy.engine import make_url

    if store.path is not None:
        pytest.skip("a service file is PostgreSQL's")
    fill(store)
    url = make_url(store.target.url)
    (tmp_path / "services").write_text(
        f"[studio]\nhost={url.host}\nport={url.port}\ndbname={url.database}\nuser=logbook\n"
    )
    monkeypatch.setenv("PGSERVICEFILE", str(tmp_path / "services"))
    with open_log("postgresql:///?service=studio") as named:
        made = put_aside(named, "before-restore")
        assert url.database
        assert url.database in made.name
        assert kept(store) == [made]


# A bookmark is nobody's copy.


def test_here_is_not_restored_and_outlives_an_undo(store: Store, tmp_path: Path) -> None:
    fill(store)
    copy = backup(store, tmp_path / "copy.jsonl")
    with store.change("more") as change:
        put(change, r.Song(title="New One", versions=(r.Version(name="live"),)))
    with store.reading() as connection:
        rows = connection.exec_driver_sql("SELECT id FROM version WHERE name = 'live'")
        version = int(rows.scalar_one())
    set_here(store, session_id=1, version_id=version, part_id=None)
    undo(store)
    with store.reading() as connection:
        assert read_here(connection) == Here(session="day one")
    redo(store)
    there = Here("day one", "New One", "live")
    with store.reading() as connection:
        assert read_here(connection) == there
    aside = restore(store, copy)
    with store.reading() as connection:
        assert read_here(connection) == Here(session="day one")
    restore(store, aside)
    with store.reading() as connection:
        assert read_here(connection) == there


def test_two_folders_do_not_move_each_other(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(store)
    for name in ("a", "b", "c"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path / "a")
    set_here(store, session_id=1, version_id=1, part_id=1)
    monkeypatch.chdir(tmp_path / "b")
    set_here(store, session_id=2, version_id=1, part_id=2)
    with store.reading() as connection:
        latest = read_here(connection)
        assert latest.session == "day two"
        monkeypatch.chdir(tmp_path / "c")
        assert read_here(connection) == latest
        monkeypatch.chdir(tmp_path / "a")
        assert read_here(connection).session == "day one"


# What is no log of ours is left as it is.


@pytest.mark.parametrize(
    "held",
    [
        "CREATE VIEW v AS SELECT 1",
        "CREATE TABLE alembic_version (version_num TEXT)",
        "CREATE TABLE kept_stamps (id)",
        "PRAGMA user_version = 7",
    ],
)
def test_another_programs_first_beginnings_are_left_alone(tmp_path: Path, held: str) -> None:
    other = tmp_path / "other.db"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute(held)
    before = other.read_bytes()
    with pytest.raises(LogbookError, match="not a log"):
        open_log(str(other))
    assert other.read_bytes() == before


@pytest.mark.parametrize("sign", ["", "PRAGMA application_id = 1234;"])
def test_another_programs_database_is_refused_untouched(
    tmp_path: Path, file_store: Store, sign: str
) -> None:
    other = tmp_path / "other.db"
    with closing(sqlite3.connect(other)) as connection:
        connection.executescript(
            f"{sign} CREATE TABLE alembic_version (version_num TEXT);"
            "INSERT INTO alembic_version VALUES ('0003'); CREATE TABLE song (id, title);"
        )
    before = other.read_bytes()
    with pytest.raises(LogbookError, match="not a log"):
        open_log(str(other))
    assert "not a log" in examine(other)
    with pytest.raises(LogbookError, match="not a log"):
        restore(file_store, other)
    assert other.read_bytes() == before


def test_a_log_says_in_its_file_whose_it_is(file_store: Store) -> None:
    assert file_store.path is not None
    with closing(sqlite3.connect(file_store.path)) as connection:
        assert connection.execute("PRAGMA application_id").fetchone() == (0x4C4F4721,)


# Files: pipes, links, modes, leftovers.


def test_an_export_goes_into_a_pipe_and_is_read_from_one(
    store: Store, tmp_path: Path, fresh: Callable[[], str]
) -> None:
    fill(store)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with open_log(fresh()) as other:
        reader = threading.Thread(target=import_log, args=(other, pipe))
        reader.start()
        export_log(store, pipe)
        reader.join()
        assert whole(other) == whole(store)
    assert pipe.is_fifo()


def test_a_log_behind_a_link_is_restored_behind_it(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    before = whole(file_store)
    copy = backup(file_store, tmp_path / "copy.bak")
    assert file_store.path is not None
    link = tmp_path / "link.db"
    link.symlink_to(file_store.path)
    file_store.close()
    file_store.path.write_bytes(b"SQLite format 3\x00" + b"\xff" * 8000)
    restore_log(str(link), copy)
    assert link.is_symlink()
    with open_log(str(file_store.path)) as store:
        assert whole(store) == before


@pytest.mark.skipif(os.name != "posix", reason="modes are a Unix matter")
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o600), (0o077, 0o600), (0o007, 0o660)])
def test_new_files_are_for_their_owner(tmp_path: Path, mask: int, mode: int) -> None:
    old = os.umask(mask)
    try:
        with open_log(str(tmp_path / "log.db")) as store:
            fill(store)
            made = [
                tmp_path / "log.db",
                backup(store, tmp_path / "copy.db"),
                put_aside(store, "before-restore"),
            ]
            export_log(store, tmp_path / "log.jsonl")
            made.append(tmp_path / "log.jsonl")
            assert [oct(path.stat().st_mode & 0o777) for path in made] == [oct(mode)] * 4
            made[1].chmod(0o640)
            backup(store, made[1])
            assert made[1].stat().st_mode & 0o777 == 0o640
    finally:
        os.umask(old)


def test_what_killed_processes_left_is_swept_away(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    mine = tmp_path / f".copy.db.{os.getppid()}.part"
    mine.write_bytes(b"somebody is writing this")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = threading.Thread(target=pipe.read_bytes)
    for write in (
        lambda: backup(file_store, tmp_path / "copy.db"),
        lambda: write_file(tmp_path / "sheet.txt", "Low Water"),
        lambda: reader.start() or backup(file_store, pipe),  # type: ignore[func-returns-value]
    ):
        left = tmp_path / f".copy.db.{int(gone.stdout)}.part"
        left.write_bytes(b"half")
        write()
        assert not left.exists()
        assert mine.exists()
    reader.join()


def test_moments_are_those_of_the_clock() -> None:
    moment = datetime.datetime.strptime(backup_module.moment(), "%Y%m%dT%H%M%S.%fZ")
    assert abs(moment - datetime.datetime.now(datetime.UTC).replace(tzinfo=None)) < (
        datetime.timedelta(seconds=5)
    )
