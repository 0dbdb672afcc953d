"""Names of every kind go in, come out harmless, and come back whole."""

from __future__ import annotations

import csv
import html.parser
import io
import json
import shutil
import sqlite3
import tomllib
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from logbook.notebook.toml_text import Tables, write_document
from logbook.plaintext import clean
from tests.robustness.commands import done, give, harmless, refused

NAMES = {
    "quotes": "O'Hara \"the\" 'great' \\ `cat`",
    "line breaks": "two\nlines\r\nthree\ttabs",
    "pictures": "😀 👩‍🎤 🇸🇪 ♭♯",
    "right to left": "\u202egnos\u202c \u05e9\u05dc\u05d5\u05dd \u0633\u0644\u0627\u0645",
    "control codes": "\x1b[31mred\x1b[0m \x07 \x9b2J \x1b]0;title\x07 \x08\x7f",
    "markup": "<script>alert(1)</script><img src=x onerror=alert(1)> &amp; ]]> {{7*7}}",
    "markdown": "# *bold* [a](javascript:alert(1)) | `code` ![x](y) \\| <b>",
    "formula": '=HYPERLINK("http://x","y")',
    "plus": "+1+1",
    "minus": "-2+3",
    "at": "@SUM(A1)",
    "options": "--help",
    "percent": "100%s %d {0} $HOME $(id) ; rm -rf *",
    "accents": "A\u030a e\u0301 \ufb01 \u212b ﷽",
    "ten thousand": "n" * 10_000,
    "ten thousand words": "word " * 2_000 + "end",
    "blank inside": " a  b ",
    "invisible": "a\u200bb\u2060c\ufeffd\u00adE",
}


def session_of(names: Iterable[str]) -> str:
    """A session file in which everything that can have a name has each of these."""
    document: dict[str, Any] = {}
    for name in names:
        for key, table in named(name).items():
            document.setdefault(key, Tables()).append(table)
    return write_document(document)


def named(name: str) -> dict[str, dict[str, Any]]:
    """One of everything that can have a name, by its key."""
    part = {
        "name": name, "player": name, "instrument": name, "chain": name, "pan": "left",
        "doubled": "not doubled", "why": name, "technique_notes": [f"1-2: {name}"],
        "chart": ["1: C | %"], "voicings": {"C": {"frets": "x 3 2 0 1 0"}},
        "take": Tables([
            {"number": 1, "session": name, "result": "keeper", "bars": "1-4", "notes": name},
            {"number": 2, "session": name, "result": "complete", "bars": "1-4"},
        ]),
        "comp": ["1-2 take 1", "3-4 take 2"],
    }  # fmt: skip
    version = {"name": name, "key": "C", "meter": "4/4", "tempo": "q=90",
               "form": ["verse 1-4"], "part": Tables([part])}  # fmt: skip
    return {
        "person": {"name": name, "full_name": name, "credited_as": name},
        "instrument": {"name": name, "kind": "guitar", "strings": 6, "notes": name},
        "session": {"name": name, "place": name, "gear": name, "people": []},
        "song": {"title": name, "version": Tables([version])},
        "project": {"title": name},
        "setlist": {"name": name, "place": name},
    }


@pytest.fixture(scope="session")
def loaded(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Path:
    """A log with everything called by each of the names."""
    path = tmp_path_factory.mktemp("names") / "log.db"
    shutil.copy(empty_file, path)
    given = give("--db", str(path), "load", "-", stdin=session_of(NAMES.values()).encode())
    assert given.code == 0, given.err
    assert harmless(given.out)
    with closing(sqlite3.connect(path)) as log:
        log.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture
def log(loaded: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it, which LOGBOOK_DB names."""
    path = tmp_path / "log.db"
    shutil.copy(loaded, path)
    monkeypatch.setenv("LOGBOOK_DB", str(path))
    monkeypatch.chdir(tmp_path)
    return path


# A spreadsheet's formulas begin in four ways; for everything else these are like any other name.
FORMULAS = ("plus", "minus", "at")


@pytest.fixture(params=[each for each in NAMES if each not in FORMULAS])
def name(request: pytest.FixtureRequest, log: Path) -> str:
    """Each of the names, of what is current."""
    return _go_to(request.param)


@pytest.fixture(params=NAMES)
def any_name(request: pytest.FixtureRequest, log: Path) -> str:
    """The same with those that differ in a spreadsheet alone."""
    return _go_to(request.param)


def _go_to(called: str) -> str:
    name = NAMES[called]
    given = give("here", f"--session={name}", "--", name)
    assert given.code == 0, given.err
    return name


def all_harmless(commands: list[list[str]]) -> None:
    for command in commands:
        given = give(*command)
        assert given.code in (0, 1), (command, given)
        assert harmless(given.out), (command, given.out)
        assert harmless(given.err), (command, given.err)


def test_every_list_prints_them_harmless(log: Path) -> None:
    all_harmless(
        [
            ["check"], ["history"], ["files"], ["song", "list"], ["person", "list"],
            ["instrument", "list"], ["setlist", "list"], ["project", "list"], ["session", "list"],
            ["history", "--json"], ["person", "list", "--json"],
        ]
    )  # fmt: skip


def test_every_command_prints_it_harmless(name: str) -> None:
    all_harmless(
        [
            ["sheet"], ["sheet", "--as", "json"], ["takes"], ["credits"], ["comp", "show"],
            ["here"], ["take", "list"], ["part", "list"], ["song", "show", "--", name],
            ["person", "show", "--", name], ["session", "show", "--", name],
        ]
    )  # fmt: skip


def test_they_come_back_whole(log: Path, tmp_path: Path) -> None:
    dumped = done("dump")
    assert clean(dumped, keep_newlines=True) == dumped
    read = tomllib.loads(dumped)
    assert [song["title"] for song in read["song"]] == list(NAMES.values())
    again = tmp_path / "again.db"
    assert give("--db", str(again), "load", "-", stdin=dumped.encode()).code == 0
    assert done("--db", str(again), "dump") == dumped
    exported = tmp_path / "log.jsonl"
    done("export", str(exported))
    third = tmp_path / "third.db"
    done("--db", str(third), "import-log", str(exported))
    assert done("--db", str(third), "dump") == dumped
    assert done("load", "-", stdin=dumped.encode()).startswith("nothing to add or change\n")


def test_it_is_found_changed_and_removed(name: str) -> None:
    done("person", "edit", "--notes", name, "--", name)
    shown = json.loads(done("person", "show", "--json", "--", name))
    assert shown["record"]["notes"] == name
    done("setlist", "remove", "--yes", "--", name)
    left = [each["name"] for each in json.loads(done("setlist", "list", "--json"))]
    assert name not in left
    assert "took back" in done("undo")
    assert len(json.loads(done("setlist", "list", "--json"))) == len(left) + 1
    said = refused("person", "add", "--", name)
    assert "already" in said
    assert len(said) < 1500


class Page(html.parser.HTMLParser):
    """What a browser would make of a page: its tags, the words in them, and odd attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.odd: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        for key, value in attrs:
            if key.startswith("on") or (value or "").strip().lower().startswith("javascript:"):
                self.odd.append(f"{key}={value}")

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_pages_hold_it_as_text(name: str, tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    given = give("sheet", "--as", "html", "--out", str(path))
    assert given.code == 0, given
    text = path.read_text(encoding="utf-8")
    assert harmless(text)
    page = Page()
    page.feed(text)
    assert page.odd == []
    assert not {"script", "img", "iframe", "object"} & page.tags


def test_markdown_holds_it_as_text(name: str) -> None:
    from markdown_it import MarkdownIt

    page = Page()
    page.feed(MarkdownIt("commonmark", {"html": True}).enable("table").render(
        done("sheet", "--as", "markdown")
    ))  # fmt: skip
    assert page.odd == []
    assert not {"script", "img", "a"} & page.tags


def test_no_cell_runs_in_a_spreadsheet(any_name: str) -> None:
    for command in (["credits", "--as", "csv"], ["comp", "show", "--as", "csv"]):
        given = give(*command)
        if given.code == 2:
            continue
        for row in csv.reader(io.StringIO(given.out)):
            for cell in row:
                assert not cell.lstrip().startswith(("=", "+", "-", "@")), cell
