"""Random and mutated bytes as session files, databases, exports and copies."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from logbook.records import Log
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from tests.robustness.commands import SESSION, done, give, harmless, one_sentence, refused

# Each kind of damage is tried so often with other bytes; a variable asks for more.
LOGS = int(os.environ.get("LOGBOOK_TEST_DAMAGED_LOGS", "6"))


def held(given: object, *, also: tuple[int, ...] = (0,)) -> str:
    """A command went well, or was refused in sentences; nothing else may come."""
    from tests.robustness.commands import Given

    assert isinstance(given, Given)
    assert given.code in (2, *also), given
    assert harmless(given.out)
    assert harmless(given.err)
    assert "Traceback" not in given.err + given.out
    if given.code == 2:
        assert given.err.startswith("logbook: ")
    return given.err


def said_of() -> Log:
    """Everything that the log says, without printing it."""
    with open_log(os.environ["LOGBOOK_DB"]) as store, store.reading() as connection:
        return read_log(connection)


def mutated(data: bytes, chance: random.Random) -> bytes:
    """Data with a few bytes changed, taken out, doubled or cut off."""
    made = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(made))
        match chance.randrange(5):
            case 0:
                made[at] = chance.randrange(256)
            case 1:
                del made[at : at + chance.randint(1, 40)]
            case 2:
                made[at:at] = made[at : at + chance.randint(1, 40)]
            case 3:
                made[at : at + 4] = bytes(chance.randrange(256) for _ in range(4))
            case _:
                if chance.random() < 0.2:
                    del made[at:]
        if not made:
            return b""
    return bytes(made)


@pytest.fixture
def log(sample_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "log.db"
    shutil.copy(sample_file, path)
    monkeypatch.setenv("LOGBOOK_DB", str(path))
    return path


# Session files


@pytest.mark.parametrize("seed", range(2 * LOGS))
def test_a_session_file_with_bytes_wrong_in_it(seed: int, log: Path) -> None:
    chance = random.Random(seed)
    said = mutated(SESSION.read_bytes(), chance)
    before = said_of()
    given = give("load", "-", stdin=said)
    err = held(given)
    if given.code:
        assert said_of() == before
        assert "line " in err, err


@pytest.mark.parametrize("seed", range(LOGS))
def test_random_bytes_as_a_session_file(seed: int, log: Path, tmp_path: Path) -> None:
    chance = random.Random(seed)
    path = tmp_path / "noise.toml"
    path.write_bytes(chance.randbytes(chance.choice([1, 10, 1000, 50_000])))
    before = said_of()
    assert give("load", str(path)).code == 2
    one_sentence(give("load", str(path)).err.splitlines()[0] + "\n")
    assert said_of() == before


WORDS = ["=", "[[song]]", "[", "]", "{", "}", '"', "''", "\n", "take", "-1", "1e9", "true", "#",
         "1-2", ".", "inf", "nan", "2026-01-01", "0x1f", "9" * 5000, "\\u0000", "\\ud800",
         "[" * 900, "[[song.version]]", "name", "file", "@", "\x7f", "é"]  # fmt: skip


@pytest.mark.parametrize("seed", range(2 * LOGS))
def test_a_session_file_with_words_wrong_in_it(seed: int, log: Path) -> None:
    chance = random.Random(seed)
    pieces = SESSION.read_text(encoding="utf-8").split(" ")
    for _ in range(chance.randint(1, 3)):
        pieces[chance.randrange(len(pieces))] = chance.choice(WORDS)
    before = said_of()
    given = give("load", "-", stdin=" ".join(pieces).encode())
    held(given)
    if given.code:
        assert said_of() == before


# Databases

READING = (["sheet", "low"], ["check"], ["history"], ["dump"], ["here"], ["takes", "low"])
WRITING = (["person", "add", "New"], ["undo"], ["load", str(SESSION)], ["backup", "--list"])


def foreign(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("CREATE TABLE song (id INTEGER, name TEXT)")
        other.execute("INSERT INTO song VALUES (1, 'x')")


def newer(path: Path) -> None:
    with closing(sqlite3.connect(path)) as log, log:
        log.execute("UPDATE alembic_version SET version_num = '9999'")


@pytest.mark.parametrize(
    "kind", ["noise", "text", "folder", "foreign", "newer", "cut", "no folder"]
)
def test_what_is_no_log_is_left_as_it_is(kind: str, log: Path, tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    match kind:
        case "noise":
            path.write_bytes(random.Random(1).randbytes(50_000))
        case "text":
            path.write_text("dear diary " * 500, encoding="utf-8")
        case "folder":
            path.mkdir()
        case "foreign":
            foreign(path)
        case "newer":
            shutil.copy(log, path)
            newer(path)
        case "cut":
            path.write_bytes(log.read_bytes()[:20_000])
        case _:
            path = log / "inside" / "other.db"
    before = path.read_bytes() if path.is_file() else b""
    for command in (*READING, *WRITING):
        said = refused("--db", str(path), *command)
        assert any(each in said for each in (str(path), str(path.parent), "file")), said
    assert (path.read_bytes() if path.is_file() else b"") == before


def test_an_empty_file_becomes_a_log(tmp_path: Path) -> None:
    path = tmp_path / "empty.db"
    path.touch()
    assert done("--db", str(path), "song", "list") == "no songs yet\n"


@pytest.mark.parametrize("name", ["postgresql://", "mysql://x/y", "sqlite://", "http://a", "\x00",
                                  "postgresql://nobody@127.0.0.1:1/none", "://", "postgresql://[",
                                  "postgresql://a:b@c:port/x"])  # fmt: skip
def test_targets_that_are_none(name: str) -> None:
    refused("--db", name, "here")


@pytest.mark.parametrize("seed", range(LOGS))
def test_a_log_with_bytes_wrong_in_it(seed: int, log: Path) -> None:
    log.write_bytes(mutated(log.read_bytes(), random.Random(seed)))
    for command in (*READING, *WRITING):
        held(give(*command), also=(0, 1))


# Exports and copies


@pytest.fixture
def exported(log: Path, tmp_path: Path) -> Path:
    path = tmp_path / "log.jsonl"
    done("export", str(path))
    return path


@pytest.mark.parametrize("seed", range(LOGS))
def test_an_export_with_bytes_wrong_in_it(seed: int, exported: Path, tmp_path: Path) -> None:
    exported.write_bytes(mutated(exported.read_bytes(), random.Random(seed)))
    given = give("--db", str(tmp_path / "new.db"), "import-log", str(exported))
    assert given.code == 2
    one_sentence(given.err)
    before = said_of()
    refused("restore", str(exported), "--yes")
    assert said_of() == before


@pytest.mark.parametrize("seed", range(LOGS // 2))
def test_a_copy_with_bytes_wrong_in_it(seed: int, log: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    done("backup", str(copy))
    copy.write_bytes(mutated(copy.read_bytes(), random.Random(seed)))
    before = said_of()
    given = give("restore", str(copy), "--yes")
    held(given)
    if given.code:
        assert said_of() == before
    else:
        held(give("dump"))


@pytest.mark.parametrize("content", [b"", b"\n", b"{}\n", b"[]", b"null\n{}\n", b'{"format": 1}\n',
                                     b"SQLite format 3\x00", b"\xff\xfe" * 50,
                                     b"[" * 100_000])  # fmt: skip
def test_what_is_no_copy_at_all(content: bytes, log: Path, tmp_path: Path) -> None:
    path = tmp_path / "odd"
    path.write_bytes(content)
    refused("restore", str(path), "--yes")
    refused("--db", str(tmp_path / "new.db"), "import-log", str(path))
    refused("restore", str(tmp_path), "--yes")
    refused("import-log", str(tmp_path))
    refused("restore", str(tmp_path / "none"), "--yes")
