"""One person, one part, one song, however the name is typed."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path

import pytest

from logbook.cli.main import run

NFC, NFD = unicodedata.normalize("NFC", "René Quill"), unicodedata.normalize("NFD", "René Quill")


@pytest.fixture
def db(tmp_path: Path) -> str:
    path = str(tmp_path / "log.db")
    for words in (
        ["person", "add", NFC],
        ["person", "add", "Ada O’Neil"],
        ["song", "add", "Café “Low” Water"],
        ["version", "add", "album", "--song", "cafe"],
    ):
        assert run(["--db", path, *words]) == 0
    return path


def people(db: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    capsys.readouterr()
    assert run(["--db", db, "person", "list", "--json"]) == 0
    return [each["name"] for each in json.loads(capsys.readouterr().out)]


@pytest.mark.parametrize("typed", [NFC, NFD, "rene quill", "René", "RENE"])
def test_a_player_is_the_person_that_is_there(
    db: str, typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    song = unicodedata.normalize("NFD", 'Café "Low" Water')
    assert run(["--db", db, "part", "add", "guitar", "--song", song, "--player", typed]) == 0
    capsys.readouterr()
    assert run(["--db", db, "part", "show", "guitar", "--song", "café", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["record"]["player"] == NFC
    assert people(db, capsys) == [NFC, "Ada O’Neil"]


def test_nobody_comes_twice(db: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--db", db, "person", "add", NFD]) == 2
    assert "already exists" in capsys.readouterr().err
    assert run(["--db", db, "person", "add", "Ada O'Neil"]) == 2
    assert run(["--db", db, "person", "edit", NFD, "--notes", "plays left-handed"]) == 0
    assert people(db, capsys) == [NFC, "Ada O’Neil"]


def test_a_session_file_speaks_of_whom_the_log_knows(
    db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    title = unicodedata.normalize("NFD", 'Café \\"Low\\" Water')
    file = tmp_path / "session.toml"
    file.write_text(
        f'[[person]]\nname = "{NFD}"\nnotes = "early"\n'
        f'[[song]]\ntitle = "{title}"\nshares = ["{NFD} 1/2", "Ada O\'Neil 1/2"]\n'
    )
    assert run(["--db", db, "load", str(file)]) == 0
    assert people(db, capsys) == [NFC, "Ada O’Neil"]
    assert run(["--db", db, "song", "list", "--json"]) == 0
    assert [each["title"] for each in json.loads(capsys.readouterr().out)] == ["Café “Low” Water"]
    assert run(["--db", db, "load", str(file), "--json"]) == 0
    assert '"added"' not in capsys.readouterr().out.replace('"added": []', "")
