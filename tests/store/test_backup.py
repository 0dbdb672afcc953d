"""Copies of the log: made, verified, kept in number, refused when damaged, brought back."""

from __future__ import annotations

import json
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook import records as r
from logbook.errors import LogbookError
from logbook.store import copies
from logbook.store.backup import backup, examine, put_aside
from logbook.store.copies import kept
from logbook.store.exchange import import_log, replace_log
from logbook.store.history import history
from logbook.store.lifecycle import open_log, restore_log
from logbook.store.log_file import export_log
from logbook.store.reading import read_log
from logbook.store.restoring import restore
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import put, put_log
from tests.drawn import any_log
from tests.store.filled import fill, take


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


@pytest.fixture(autouse=True)
def _own_backups(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))


def test_a_backup_brings_everything_back(store: Store, tmp_path: Path) -> None:
    fill(store)
    before = whole(store)
    copy = backup(store, tmp_path / "copy.bak")
    with store.change("more") as change:
        put(change, r.Song(title="Afterwards"))
    aside = restore(store, copy)
    assert whole(store) == before
    undo(store)  # The history came back too.
    restore(store, aside)
    assert whole(store).songs[-1].title == "Afterwards"


def test_a_backup_is_whole_while_others_write(store: Store, tmp_path: Path) -> None:
    fill(store)
    stop = threading.Event()

    def write() -> None:
        number = 100
        while not stop.is_set():
            with store.change("take add") as change:
                take(change, number, "day one")
                take(change, number, "day two")
            number += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [backup(store, tmp_path / f"copy-{n}.bak") for n in range(4)]
    finally:
        stop.set()
        writer.join()
    counts = []
    for copy in copies:
        restore(store, copy)
        takes = whole(store).songs[0].versions[0].parts[0].takes
        one = [t.number for t in takes if t.session == "day one" and t.number >= 100]
        assert one == [t.number for t in takes if t.session == "day two" and t.number >= 100]
        counts.append(len(one))
    assert counts == sorted(counts)


def test_an_sqlite_backup_is_one_sound_file(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    copy = backup(file_store, tmp_path / "copies.db")
    assert examine(copy) == ""
    assert sorted(path.name for path in tmp_path.glob("*copies*")) == ["copies.db"]
    with open_log(str(copy)) as other:
        assert whole(other) == whole(file_store)


def test_only_the_last_ones_put_aside_are_kept(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(copies, "KEPT", 3)
    mine = backup(store)
    made = [put_aside(store, "before-restore") for _ in range(5)]
    assert kept(store) == [*made[:1:-1], mine]


def test_another_logs_copies_are_left_alone(empty_file: Path, tmp_path: Path) -> None:
    for name in ("log.db", "log-2.db"):
        (tmp_path / name).write_bytes(empty_file.read_bytes())
    with open_log(str(tmp_path / "log.db")) as one, open_log(str(tmp_path / "log-2.db")) as two:
        first, second = backup(one), backup(two)
        assert kept(one) == [first]
        assert kept(two) == [second]


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_a_damaged_copy_is_refused_or_sound(
    file_store: Store, tmp_path: Path, data: st.DataObject
) -> None:
    """Bytes overwritten or cut off: either the copy says so, or the log stays a sound one."""
    kept = tmp_path / "good.jsonl"
    if not kept.exists():
        fill(file_store)
        backup(file_store, kept)
    good = kept.read_bytes()
    at = data.draw(st.integers(0, len(good) - 1))
    if data.draw(st.booleans()):
        bad = good[:at]
    else:
        other = data.draw(st.integers(0, 255).filter(lambda byte: byte != good[at]))
        bad = good[:at] + bytes([other]) + good[at + 1 :]
    (tmp_path / "bad.jsonl").write_bytes(bad)
    before = whole(file_store)
    with pytest.raises(LogbookError):
        restore(file_store, tmp_path / "bad.jsonl")
    assert whole(file_store) == before


def test_a_damaged_database_file_is_refused(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    before = whole(file_store)
    copy = backup(file_store, tmp_path / "copy.db")
    good = copy.read_bytes()
    for at in range(4096, len(good), 16384):
        copy.write_bytes(good[:at] + b"\xff" * 4096 + good[at + 4096 :])
        with pytest.raises(LogbookError, match=r"damaged|cannot be read"):
            restore(file_store, copy)
        assert whole(file_store) == before
    copy.write_bytes(good[: len(good) // 2])
    with pytest.raises(LogbookError, match=r"damaged|cannot be read"):
        restore(file_store, copy)


def test_a_newer_copy_is_refused(store: Store, tmp_path: Path) -> None:
    fill(store)
    copy = backup(store, tmp_path / "copy")
    if store.path is not None:
        with closing(sqlite3.connect(copy)) as connection:
            connection.execute("UPDATE alembic_version SET version_num = '9999'")
            connection.commit()
    else:
        import hashlib

        head, *rest = copy.read_bytes().splitlines(keepends=True)[:-1]
        newer = json.dumps(json.loads(head) | {"schema": "9999"}).encode() + b"\n"
        body = newer + b"".join(rest)
        digest = json.dumps({"sha256": hashlib.sha256(body).hexdigest()}).encode()
        copy.write_bytes(body + digest + b"\n")
    before = whole(store)
    with pytest.raises(LogbookError, match="newer program"):
        restore(store, copy)
    assert whole(store) == before


@pytest.mark.parametrize("content", [b"", b"hello", b"{}\n", b"SQLite format 3\x00", b"\xff\xfe\n"])
def test_what_is_no_copy_is_refused(store: Store, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "odd").write_bytes(content)
    with pytest.raises(LogbookError):
        restore(store, tmp_path / "odd")
    with pytest.raises(LogbookError, match="there is no file"):
        restore(store, tmp_path / "nowhere")


def test_a_damaged_log_can_be_replaced_by_a_copy(file_store: Store, tmp_path: Path) -> None:
    fill(file_store)
    before = whole(file_store)
    copy = backup(file_store, tmp_path / "copy.db")
    log = file_store.path
    assert log is not None
    file_store.close()
    for content in (b"not a database at all" * 300, copy.read_bytes()[:8192]):
        log.write_bytes(content)
        for rest in ("-wal", "-shm"):
            log.with_name(log.name + rest).unlink(missing_ok=True)
        aside = restore_log(str(log), copy)
        assert aside.read_bytes() == content
        with open_log(str(log)) as again:
            assert whole(again) == before


def test_an_export_is_the_same_from_either_database(
    fresh: Callable[[], str], tmp_path: Path, empty_file: Path
) -> None:
    there, back, again = (tmp_path / name for name in ("there", "back", "again"))
    (tmp_path / "other.db").write_bytes(empty_file.read_bytes())
    with open_log(fresh()) as store, open_log(str(tmp_path / "other.db")) as other:
        fill(store)
        with store.change("gone") as change:
            put(change, r.Song(title="Gone"))
        undo(store)
        counts = export_log(store, there)
        assert import_log(other, there) == counts
        export_log(other, back)
        with open_log(fresh()) as third:
            import_log(third, back)
            export_log(third, again)
            # The number of what was taken back is not given out again.
            with third.change("new") as change:
                assert put(change, r.Song(title="New"))[0].id == 4
            with store.reading() as a, third.reading() as b:
                assert history(a) == history(b)[1:]
    lines = [path.read_bytes().splitlines() for path in (there, back, again)]
    assert lines[0][1:-1] == lines[1][1:-1] == lines[2][1:-1]


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(log=any_log())
def test_any_log_survives_the_way_out_and_back(
    fresh: Callable[[], str], tmp_path_factory: pytest.TempPathFactory, log: r.Log
) -> None:
    folder = tmp_path_factory.mktemp("out")
    with open_log(fresh()) as store, open_log(str(folder / "x.db")) as other:
        with store.change("load") as change:
            put_log(change, log)
        export_log(store, folder / "log.jsonl")
        import_log(other, folder / "log.jsonl")
        assert whole(other) == log
        export_log(other, folder / "back.jsonl")
        with open_log(fresh()) as third:
            import_log(third, folder / "back.jsonl")
            assert whole(third) == log
            with store.reading() as a, third.reading() as b:
                assert history(a) == history(b)


def test_an_import_wants_an_empty_log(store: Store, tmp_path: Path) -> None:
    fill(store)
    export_log(store, tmp_path / "log.jsonl")
    before = whole(store)
    with pytest.raises(LogbookError, match="not empty"):
        import_log(store, tmp_path / "log.jsonl")
    assert whole(store) == before


def signed(lines: list[bytes]) -> bytes:
    import hashlib

    body = b"".join(line + b"\n" for line in lines)
    return body + json.dumps({"sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"


JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.text(max_size=4)
    | st.just("\x00"),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=3,
)


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_an_export_with_nonsense_in_it_is_refused_plainly(
    file_store: Store, tmp_path: Path, data: st.DataObject
) -> None:
    """Signed correctly, but with some value replaced by any other."""
    if not (tmp_path / "good.jsonl").exists():
        fill(file_store)
        export_log(file_store, tmp_path / "good.jsonl")
    lines = (tmp_path / "good.jsonl").read_bytes().splitlines()[:-1]
    at = data.draw(st.integers(0, len(lines) - 1))
    value = json.loads(lines[at])
    part = value["row"] if at and data.draw(st.booleans()) else value
    part[data.draw(st.sampled_from(sorted(part)))] = data.draw(JUNK)
    lines[at] = json.dumps(value).encode()
    (tmp_path / "bad.jsonl").write_bytes(signed(lines))
    before = whole(file_store)
    try:
        replace_log(file_store, tmp_path / "bad.jsonl", "before-replace")
    except LogbookError:
        assert whole(file_store) == before
    else:
        with file_store.engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() == []
        replace_log(file_store, tmp_path / "good.jsonl", "before-replace")
