"""Fixtures that all tests share: fresh logs on SQLite and, where there is a server, PostgreSQL.

LOGBOOK_TEST_POSTGRES is the URL of a server where databases can be made
("postgresql://logbook@127.0.0.1:5499/postgres"); without it the PostgreSQL half is skipped.
"""

from __future__ import annotations

import gc
import itertools
import os
import shutil
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import Phase, settings

sys.path.insert(0, str(Path(__file__).parent.parent))
# What the tests start and import is compiled once, also where the shell wants no bytecode kept:
# that was a third of each start. Whoever changes modules within a second (tests/mutation) says so.
if not os.environ.get("LOGBOOK_TEST_COMPILE_ALWAYS"):
    sys.dont_write_bytecode = False
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

from logbook.store import schema
from logbook.store.lifecycle import open_log
from logbook.store.store import Store
from tests.compiled import share_compiled
from tests.in_memory import end_in_memory, put_in_memory
from tests.planted import migrated_once
from tests.warm import end_shared

# The pure rooms: no database, no sound, no process of its own. `pytest -m quick` runs these, with
# few examples and always the same ones.
QUICK = [
    "theory",
    "strings",
    "timing",
    "editing",
    "records",
    "crediting",
    "checking",
    "arranging",
    "notebook/test_chart_lines.py",
    "notebook/test_locate.py",
    "golden/test_answers.py",
    "test_names.py",
    "test_plaintext.py",
]
# Tests of the store in which new logs get their tables by all migrations.
MAKING_TABLES = (
    "test_crashes.py",
    "test_frozen.py",
    "test_journal.py",
    "test_lifecycle.py",
    "test_migrations.py",
    "test_together.py",
)
# Single tests of a minute and more: begun last, one processor would wait for them.
LONGEST = ("test_readme.py", "test_package.py", "test_together.py")
# Two workers on two cores: no threads of a library beside them. Set before numpy is read.
for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")
put_in_memory()
share_compiled()
NO_SHRINKING = (Phase.explicit, Phase.generate)
settings.register_profile("quick", max_examples=15, derandomize=True, deadline=None, database=None)
settings.register_profile("same", max_examples=50, derandomize=True, deadline=None, database=None)
settings.register_profile("explore", deadline=None)
# Whether a test fails at all, and not the simplest reason why.
settings.register_profile("notice", settings.get_profile("same"), phases=NO_SHRINKING)


def pytest_configure(config: pytest.Config) -> None:
    """Choose the same examples every time, and few where only what is quick is asked for.

    What one run says of a commit, every run says; `--hypothesis-profile=explore` looks for more.
    """
    if not config.getoption("--hypothesis-profile"):
        settings.load_profile("quick" if config.getoption("-m") == "quick" else "same")


def pytest_unconfigure() -> None:
    """End what was kept warm."""
    end_shared()
    end_in_memory()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave what is not quick unread where only that is asked for."""
    if config.getoption("-m") != "quick" or collection_path.suffix != ".py":
        return None
    if not collection_path.name.startswith("test_"):
        return None
    return None if _is_quick(collection_path) else True


def _is_quick(path: Path) -> bool:
    here = Path(__file__).parent
    return any(path.is_relative_to(here / each) for each in QUICK)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option of a run that leaves nothing out."""
    parser.addoption(
        "--every-case",
        action="store_true",
        help="run what is not about the database itself on PostgreSQL every time, too",
    )


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """One worker more than processors with `-n auto`: some tests wait for a browser or a server."""
    if config.option.numprocesses != "auto" or config.getoption("-m") == "quick":
        return None
    return len(os.sched_getaffinity(0)) + 1 if hasattr(os, "sched_getaffinity") else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark what is quick by where it stands; begin with what takes longest by itself."""
    if not config.getoption("--every-case"):
        _leave_out_servers(config, items)
    items.sort(key=lambda item: item.path.name not in LONGEST)
    for path, of_it in itertools.groupby(items, key=lambda item: item.path):
        if _is_quick(path):
            for item in of_it:
                item.add_marker(pytest.mark.quick)


def pytest_collection_finish() -> None:
    """Clean up rarely, and never look again at what stays until the end: ten thousand tests."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def _leave_out_servers(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of the tests of a file that go through a database without being about it, keep a quarter.

    What differs between the two databases is below `store/`; the rooms above it see one Store.
    """
    here = Path(__file__).parent
    about_it = {here / "store", here / "robustness" / "test_two_at_once.py"}
    met: Counter[Path] = Counter()
    left_out = []
    for item in items:
        case = getattr(item, "callspec", None)
        if case is None or case.params.get("dialect") != "postgresql":
            continue
        if about_it.isdisjoint((item.path, *item.path.parents)):
            met[item.path] += 1
            if met[item.path] % 4 != 1:
                left_out.append(item)
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        gone = set(map(id, left_out))
        items[:] = [item for item in items if id(item) not in gone]


SAMPLE = Path(__file__).parent.parent / "sample_session"
SERVER = os.environ.get("LOGBOOK_TEST_POSTGRES", "")
DIALECTS = ("sqlite", "postgresql")
_count = itertools.count(1)


@pytest.fixture(autouse=True)
def _own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the log of whoever runs it."""
    monkeypatch.delenv("LOGBOOK_DB", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path_factory.getbasetemp() / "home"))
    monkeypatch.setenv("LOGBOOK_USER", "tester")


@pytest.fixture(autouse=True)
def _tables_at_once(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new log in a file takes over the tables of the first, but where making them is the matter.

    There are some hundred new logs; to run all migrations took longer than most of those tests.
    """
    if request.path.name not in MAKING_TABLES or request.path.parent.name != "store":
        monkeypatch.setattr(schema, "migrate", migrated_once)


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty log in a file, made once; copy it."""
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    with open_log(str(path)) as store, store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture(scope="session")
def empty_database() -> Iterator[str]:
    """The name of an empty PostgreSQL log, made once; use it as a template."""
    name = f"logbook_empty_{os.getpid()}"
    on_server(f"CREATE DATABASE {name}")
    open_log(database_url(name)).close()
    yield name
    on_server(f"DROP DATABASE {name}")


def database_url(name: str) -> str:
    """The URL of a database on the tests' server."""
    return f"{SERVER.rpartition('/')[0]}/{name}"


def on_server(statement: str) -> None:
    """Give the tests' server a statement outside any transaction."""
    import psycopg

    with psycopg.connect(SERVER, autocommit=True) as connection:
        # By files a template is copied in half the time it takes by way of the server's journal.
        if " TEMPLATE " in statement and connection.info.server_version >= 15_00_00:
            statement += " STRATEGY FILE_COPY"
        connection.execute(statement)


@pytest.fixture(params=DIALECTS)
def dialect(request: pytest.FixtureRequest) -> str:
    """Both kinds of database, one after the other."""
    if request.param == "postgresql" and not SERVER:
        pytest.skip("LOGBOOK_TEST_POSTGRES names no server")
    return str(request.param)


@pytest.fixture
def blank(dialect: str, tmp_path: Path) -> Iterator[Callable[[], str]]:
    """Targets of databases without any table, as many as asked for."""
    yield from _targets(dialect, tmp_path, "", None)


@pytest.fixture
def fresh(
    dialect: str, request: pytest.FixtureRequest, tmp_path: Path
) -> Iterator[Callable[[], str]]:
    """Targets of empty logs, as many as asked for."""
    if dialect == "sqlite":
        yield from _targets(dialect, tmp_path, "", request.getfixturevalue("empty_file"))
    else:
        template = request.getfixturevalue("empty_database")
        yield from _targets(dialect, tmp_path, f" TEMPLATE {template}", None)


def _targets(
    dialect: str, folder: Path, template: str, file: Path | None
) -> Iterator[Callable[[], str]]:
    made: list[str] = []

    def make() -> str:
        number = next(_count)
        if dialect == "sqlite":
            path = folder / f"log-{number}.db"
            if file is not None:
                shutil.copy(file, path)
            return str(path)
        name = f"logbook_test_{os.getpid()}_{number}"
        on_server(f"CREATE DATABASE {name}{template}")
        made.append(name)
        return database_url(name)

    yield make
    for name in made:
        on_server(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def store(fresh: Callable[[], str]) -> Iterator[Store]:
    """An empty log on each kind of database."""
    with open_log(fresh()) as opened:
        yield opened


@pytest.fixture
def file_store(empty_file: Path, tmp_path: Path) -> Iterator[Store]:
    """An empty log in a file."""
    path = tmp_path / "log.db"
    shutil.copy(empty_file, path)
    with open_log(str(path)) as opened:
        yield opened


def _load_sample(target: str) -> None:
    """Put the sample session's log into an empty one."""
    from logbook.notebook.read import read_log
    from logbook.store.writing import put_log

    written = (SAMPLE / "session.toml").read_text(encoding="utf-8")
    with open_log(target) as store, store.change("load sample_session", who="tester") as change:
        put_log(change, read_log(written, folder=str(SAMPLE)))


@pytest.fixture(scope="session")
def sample_file(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Path:
    """The sample session's log in a file, made once; copy it."""
    path = tmp_path_factory.mktemp("sample") / "sample.db"
    shutil.copy(empty_file, path)
    _load_sample(str(path))
    with open_log(str(path)) as store, store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture(scope="session")
def sample_database(empty_database: str) -> Iterator[str]:
    """The name of a PostgreSQL log with the sample session, made once; use it as a template."""
    name = f"logbook_sample_{os.getpid()}"
    on_server(f"CREATE DATABASE {name} TEMPLATE {empty_database}")
    _load_sample(database_url(name))
    yield name
    on_server(f"DROP DATABASE {name}")


@pytest.fixture
def sample(
    dialect: str,
    request: pytest.FixtureRequest,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[str]:
    """A log of one's own with the sample session in it, which commands take as the usual one."""
    if dialect == "sqlite":
        made = _targets(dialect, tmp_path, "", request.getfixturevalue("sample_file"))
    else:
        template = request.getfixturevalue("sample_database")
        made = _targets(dialect, tmp_path, f" TEMPLATE {template}", None)
    target = next(made)()
    monkeypatch.setenv("LOGBOOK_DB", target)
    yield target
    next(made, None)
