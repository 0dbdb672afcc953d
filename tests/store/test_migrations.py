"""The migrations make exactly what the models say, and lose nothing on the way down and up."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Connection, inspect

from logbook.errors import LogbookError
from logbook.store.copies import kept
from logbook.store.engine import make_engine
from logbook.store.exchange import import_log
from logbook.store.lifecycle import open_log
from logbook.store.models import MODELS, Base
from logbook.store.restoring import restore
from logbook.store.schema import migrate, revisions
from logbook.store.store import HEAD, Store
from logbook.store.targets import read_target
from tests.conftest import database_url, on_server
from tests.store.filled import fill


def rows(connection: Connection) -> dict[str, list[tuple[Any, ...]]]:
    return {
        table.name: [tuple(row) for row in connection.execute(table.select().order_by(table.c.id))]
        for table in Base.metadata.sorted_tables
    }


def details(connection: Connection) -> dict[str, Any]:
    """What a database says of its tables: more than alembic compares (checks, on delete)."""
    seen = inspect(connection)
    found: dict[str, Any] = {}
    for table in sorted(MODELS):
        checks = {
            str(check["name"]): "".join(str(check["sqltext"]).split())
            .replace("(", "")
            .replace(")", "")
            for check in seen.get_check_constraints(table)
            # This one follows from the columns, which are compared themselves.
            if check["name"] != "ck_typed"
        }
        keys = sorted(
            (key["name"], tuple(key["constrained_columns"]), key["options"].get("ondelete"))
            for key in seen.get_foreign_keys(table)
        )
        columns = {
            column["name"]: (str(column["type"]), column["nullable"])
            for column in seen.get_columns(table)
        }
        indexes = sorted(
            (str(index["name"]), bool(index["unique"])) for index in seen.get_indexes(table)
        )
        unique = sorted(str(each["name"]) for each in seen.get_unique_constraints(table))
        found[table] = (columns, checks, keys, indexes, unique)
        if connection.dialect.name == "sqlite":
            made = connection.exec_driver_sql(
                f"SELECT sql FROM sqlite_master WHERE name = '{table}'"
            ).scalar()
            assert "AUTOINCREMENT" in str(made), table
    return found


def test_head_is_the_last_script() -> None:
    assert revisions()[-1] == HEAD


def test_from_empty_to_head_is_what_the_models_say(blank: Callable[[], str]) -> None:
    with open_log(blank()) as store, store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        migrated = details(connection)
    with_models = make_engine(read_target(blank()))
    with with_models.begin() as connection:
        Base.metadata.create_all(connection)
    with with_models.connect() as connection:
        assert migrated == details(connection)
    with_models.dispose()


def test_down_and_up_again_step_by_step_with_rows_in_every_table(store: Store) -> None:
    fill(store)
    with store.engine.connect() as connection:
        before, shape = rows(connection), details(connection)
    assert all(before.values()), [name for name, held in before.items() if not held]
    steps = revisions()
    seen = set(before)
    for step in [*reversed(steps[:-1]), "base"]:
        migrate(store.engine, store.dialect, step, down=True)
        with store.engine.connect() as connection:
            there = {n for n in inspect(connection).get_table_names() if n in before}
            assert there <= seen, step
            seen = there
            for table in there:
                count = connection.exec_driver_sql(f'SELECT COUNT(*) FROM "{table}"').scalar()
                assert count == len(before[table]), (step, table)
    assert not seen
    for step in steps:
        migrate(store.engine, store.dialect, step)
    with store.engine.connect() as connection:
        assert details(connection) == shape
        assert rows(connection) == before
        assert not [n for n in inspect(connection).get_table_names() if n.startswith("kept_")]


# Each step up is tried above, with every row. What comes on top here (a copy put aside of older
# tables, many steps at once, the copy brought back) is tried from the first, a middle and the last.
OLDER = [revisions()[at] for at in (0, len(revisions()) // 2, -2)]


@pytest.fixture(scope="module")
def older(
    tmp_path_factory: pytest.TempPathFactory, empty_file: Path, request: pytest.FixtureRequest
) -> Iterator[Callable[[str, str], str]]:
    """Logs as older programs left them, by kind of database and step: taken back once, then copied.

    A target is for one test alone.
    """
    folder = tmp_path_factory.mktemp("older")
    made: list[str] = []

    def taken_back(target: str, keep: Callable[[str], object]) -> None:
        with open_log(target) as store:
            fill(store)
            for step in reversed(OLDER):
                migrate(store.engine, store.dialect, step, down=True)
                store.engine.dispose()
                keep(step)

    @cache
    def files() -> Path:
        start = folder / "start.db"
        shutil.copy(empty_file, start)

        def keep(step: str) -> None:
            with (
                closing(sqlite3.connect(start)) as log,
                closing(sqlite3.connect(folder / f"{step}.db")) as copy,
            ):
                log.backup(copy)
                copy.execute("PRAGMA journal_mode = WAL")

        taken_back(str(start), keep)
        return folder

    @cache
    def databases() -> str:
        start = database("start", request.getfixturevalue("empty_database"))
        taken_back(database_url(start), lambda step: database(step, start))
        return start.removesuffix("start")

    def database(name: str, template: str) -> str:
        name = f"logbook_older_{os.getpid()}_{name}"
        on_server(f"CREATE DATABASE {name} TEMPLATE {template}")
        made.append(name)
        return name

    def target(dialect: str, step: str) -> str:
        if dialect == "sqlite":
            return str(files() / f"{step}.db")
        return database_url(f"{databases()}{step}")

    yield target
    for name in made:
        on_server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.mark.parametrize("step", OLDER)
def test_an_older_log_is_brought_up_to_date_after_a_copy_is_put_aside(
    older: Callable[[str, str], str],
    dialect: str,
    step: str,
    empty_file: Path,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    target = older(dialect, step)
    engine = make_engine(read_target(target))
    with engine.connect() as connection:
        old_tables = set(inspect(connection).get_table_names())
        songs = connection.exec_driver_sql("SELECT title FROM song ORDER BY id").fetchall()
        standing = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    engine.dispose()
    assert standing == step
    assert songs
    said: list[str] = []
    with open_log(target, notice=said.append) as store:
        with store.engine.connect() as connection:
            assert "command" in set(inspect(connection).get_table_names())
            again = connection.exec_driver_sql("SELECT title FROM song ORDER BY id").fetchall()
            assert again == songs
        (copy,) = kept(store)
        assert str(copy) in said[0]
        assert "up to date" in said[1]
        # The copy is of the older kind, and can still be brought back.
        if copy.suffix == ".db":
            other = make_engine(read_target(str(copy)))
            with other.connect() as connection:
                assert set(inspect(connection).get_table_names()) == old_tables
            other.dispose()
        restore(store, copy)
        with store.engine.connect() as connection:
            again = connection.exec_driver_sql("SELECT title FROM song ORDER BY id").fetchall()
            assert again == songs
    if copy.suffix == ".jsonl":
        shutil.copy(empty_file, tmp_path / "other.db")
        with open_log(str(tmp_path / "other.db")) as other_store:
            import_log(other_store, copy)
            with other_store.engine.connect() as connection:
                assert (
                    connection.exec_driver_sql("SELECT title FROM song ORDER BY id").fetchall()
                    == songs
                )


def test_a_log_from_a_newer_program_is_refused(fresh: Callable[[], str]) -> None:
    target = fresh()
    with open_log(target) as store, store.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(LogbookError, match="newer program"):
        open_log(target)
    with pytest.raises(LogbookError, match="newer program"):
        open_log(target)


@pytest.mark.parametrize("installed", [False, True], ids=["checkout", "installed"])
def test_another_project_with_migrations_of_its_own_is_left_alone(
    tmp_path: Path, installed: bool
) -> None:
    root = Path(__file__).parents[2]
    if installed:
        # As the wheel lays it out: the migrations below the package, no checkout anywhere. What is
        # compiled comes along.
        site = tmp_path / "site"
        shutil.copytree(root / "logbook", site / "logbook")
        shutil.copytree(root / "migrations", site / "logbook" / "migrations")
        root = site
    decoy = tmp_path / "other" / "migrations"
    (decoy / "versions").mkdir(parents=True)
    for name in ("__init__.py", "env.py", "keeping.py"):
        (decoy / name).write_text("raise SystemExit('the decoy ran')\n")

    program = [sys.executable, "-c", "from logbook.cli.main import main; main()"]
    done = subprocess.run(
        [*program, "--db", str(tmp_path / "log.db"), "song", "add", "Weir"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(decoy.parent), str(root)])},
        cwd=decoy.parent,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.stdout + done.stderr == "added song Weir\n"
