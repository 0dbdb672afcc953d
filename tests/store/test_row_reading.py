"""An export in which a value is wrong is refused whole, with where it stands and what is right."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from logbook.errors import LogbookError
from logbook.notebook.rows import row_reader
from logbook.records import Log
from logbook.store.exchange import import_log, replace_log
from logbook.store.lifecycle import open_log
from logbook.store.log_file import export_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from tests.store.filled import fill

FROZEN = Path(__file__).parent.parent / "frozen" / "log-0008.jsonl"


def whole(store: Store) -> Log:
    with store.reading() as connection:
        return read_log(connection)


def _altered(source: Path, goal: Path, table: str, columns: dict[str, Any]) -> None:
    """The same file with other values in the first row of a table, and a digest that is right."""
    lines = []
    met = False
    for line in source.read_text(encoding="utf-8").splitlines()[:-1]:
        value = json.loads(line)
        if not met and value.get("table") == table:
            met = True
            assert columns.keys() <= value["row"].keys()
            value["row"] |= columns
        lines.append(json.dumps(value, ensure_ascii=False) + "\n")
    assert met
    body = "".join(lines)
    digest = hashlib.sha256(body.encode()).hexdigest()
    goal.write_text(body + json.dumps({"sha256": digest}) + "\n", encoding="utf-8")


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    with open_log(str(folder / "log.db")) as store:
        fill(store)
        export_log(store, folder / "log.jsonl")
    return folder / "log.jsonl"


WRONG: list[tuple[str, dict[str, Any], str]] = [
    ("take", {"number": "three"}, r'take in row 1 .*number is "three".*a whole number'),
    ("take", {"number": True}, "number is true.*a whole number"),
    ("take", {"number": 1.5}, "number is 1.5.*a whole number"),
    ("take", {"number": 2**40}, "a whole number"),
    ("take", {"result": "brilliant"}, "result: .*false start"),
    ("take", {"bars": "one to eight"}, "take in row 1 .*bars"),
    ("take", {"part_id": 4_000}, "refers to a row that is not there"),
    ("take", {"notes": None}, "notes is null.*text"),
    ("song", {"iswc": "T-1"}, "song in row 1 .*iswc: .*nine digits"),
    ("song", {"title": 7}, "title is 7.*text"),
    ("song", {"revision": -1}, "revision is -1.*0 or more"),
    ("song", {"id": 0}, "id is 0.*1 or more"),
    ("version", {"key": "H##"}, "version in row 1 .*key"),
    ("tempo_change", {"bpm": "fast"}, 'bpm is "fast".*a number'),
    ("tempo_change", {"bpm": -3.0}, "tempo in row|tempo change in row"),
    ("session", {"date": "yesterday-ish"}, "session in row 1 .*date"),
    ("voicing", {"frets": "x 99999 0 0 0 0"}, "voicing in row 1 .*frets"),
    ("part", {"capo": "two-ish"}, "part in row 1 .*capo"),
    ("command", {"at": "noon"}, "at is 'noon'.*moment like"),
    ("change", {"after": "[1, 2"}, "after is no object"),
]


@pytest.mark.parametrize(("table", "columns", "said"), WRONG)
def test_a_wrong_value_is_named_and_nothing_is_taken(
    exported: Path, tmp_path: Path, table: str, columns: dict[str, Any], said: str
) -> None:
    bad = tmp_path / "bad.jsonl"
    _altered(exported, bad, table, columns)
    # The log of them all: none of these is ever taken into it.
    with open_log(str(exported.with_name("empty.db"))) as store:
        with pytest.raises(LogbookError, match=said) as refused:
            import_log(store, bad, row_reader())
        assert "SQL" not in str(refused.value)
        assert "nothing was taken" in refused.value.remedy
        assert whole(store) == Log()


def test_nothing_is_replaced_by_what_is_wrong(exported: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.jsonl"
    _altered(exported, bad, "take", {"result": "brilliant"})
    with open_log(str(tmp_path / "log.db")) as store:
        import_log(store, exported, row_reader())
        there = whole(store)
        with pytest.raises(LogbookError, match="result"):
            replace_log(store, bad, "before-replace", row_reader())
        assert whole(store) == there


def test_an_export_of_then_reads(store: Store) -> None:
    import_log(store, FROZEN, row_reader())
    assert len(whole(store).songs) == 4


def test_a_wrong_value_in_an_export_of_then_is_named(store: Store, tmp_path: Path) -> None:
    bad = tmp_path / "bad.jsonl"
    _altered(FROZEN, bad, "take", {"result": "brilliant"})
    with pytest.raises(LogbookError):
        import_log(store, bad, row_reader())
    assert whole(store) == Log()


# On SQLite the tables themselves hold to what their columns are declared as.


@pytest.mark.parametrize(
    ("column", "value"),
    [("number", "three"), ("number", 1.5), ("notes", b"\x00\x01"), ("session_id", "x")],
)
def test_a_column_takes_its_own_kind_alone(file_store: Store, column: str, value: object) -> None:
    fill(file_store)
    assert file_store.path is not None
    with closing(sqlite3.connect(file_store.path)) as log:
        with pytest.raises(sqlite3.IntegrityError, match="ck_typed"):
            log.execute(f"UPDATE take SET {column} = ?", (value,))
        assert log.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_every_column_of_every_table_is_held(fresh: Callable[[], str], tmp_path: Path) -> None:
    path = tmp_path / "log.db"
    with open_log(str(path)):
        pass
    with closing(sqlite3.connect(path)) as log:
        tables = log.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            " AND name <> 'alembic_version' AND name NOT LIKE 'kept_%'"
        ).fetchall()
        assert len(tables) > 30
        for name, sql in tables:
            rule = sql.partition("CONSTRAINT ck_typed")[2]
            for column in log.execute(f'PRAGMA table_info("{name}")').fetchall():
                assert column[5] or f'"{column[1]}"' in rule, (name, column)


def test_an_old_log_with_another_kind_of_value_opens_all_the_same(
    file_store: Store, tmp_path: Path
) -> None:
    from logbook.store.engine import make_engine
    from logbook.store.schema import migrate
    from logbook.store.targets import file_target

    fill(file_store)
    path = file_store.path
    assert path is not None
    file_store.close()
    engine = make_engine(file_target(path))
    migrate(engine, "sqlite", "0017", down=True)
    engine.dispose()
    with closing(sqlite3.connect(path)) as log:
        log.execute("UPDATE voicing SET fingers = x'31' WHERE id = 1")
        log.commit()
    with open_log(str(path)) as store:
        assert whole(store).songs
    with closing(sqlite3.connect(path)) as log:
        (sql,) = log.execute("SELECT sql FROM sqlite_master WHERE name = 'voicing'").fetchone()
        assert '"frets"' in sql.partition("CONSTRAINT ck_typed")[2]
        assert '"fingers"' not in sql.partition("CONSTRAINT ck_typed")[2]
