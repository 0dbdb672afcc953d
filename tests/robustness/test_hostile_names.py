"""Names of every kind go in, come out harmless, and come back whole."""

from __future__ import annotations

import csv
import html.parser
import io
import json
import tomllib
from pathlib import Path

import pytest

from logbook.notebook.toml_text import write_document
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


def session_of(name: str) -> str:
    """A session file in which everything that can have a name has this one."""
    part = {
        "name": name, "player": name, "instrument": name, "chain": name, "pan": "left",
        "doubled": "not doubled", "why": name, "technique_notes": [f"1-2: {name}"],
        "chart": ["1: C | %"], "voicings": {"C": {"frets": "x 3 2 0 1 0"}},
        "take": [
            {"number": 1, "session": name, "result": "keeper", "bars": "1-4", "notes": name},
            {"number": 2, "session": name, "result": "complete", "bars": "1-4"},
        ],
        "comp": ["1-2 take 1", "3-4 take 2"],
    }  # fmt: skip
    version = {"name": name, "key": "C", "meter": "4/4", "tempo": "q=90",
               "form": ["verse 1-4"], "part": [part]}  # fmt: skip
    return write_document(
        {
            "person": [{"name": name, "full_name": name, "credited_as": name}],
            "instrument": [{"name": name, "kind": "guitar", "strings": 6, "notes": name}],
            "session": [{"name": name, "place": name, "gear": name, "people": []}],
            "song": [{"title": name, "version": [version]}],
            "project": [{"title": name}],
            "setlist": [{"name": name, "place": name}],
        }
    )


@pytest.fixture(params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return NAMES[request.param]


@pytest.fixture
def log(empty_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> str:
    """A log in which everything is called `name`; the name as the log keeps it."""
    import shutil

    path = tmp_path / "log.db"
    shutil.copy(empty_file, path)
    monkeypatch.setenv("LOGBOOK_DB", str(path))
    monkeypatch.chdir(tmp_path)
    given = give("load", "-", stdin=session_of(name).encode())
    assert given.code == 0, given.err
    assert harmless(given.out)
    title = str(json.loads(done("song", "list", "--json"))[0]["title"])
    given = give("here", f"--session={title}", "--", title)
    assert given.code == 0, given.err
    return title


def test_every_command_prints_it_harmless(log: str) -> None:
    for command in (
        ["sheet"], ["sheet", "--as", "markdown"], ["takes"], ["check"], ["history"],
        ["credits"], ["credits", "--as", "csv"], ["comp", "show"], ["here"], ["files"],
        ["song", "list"], ["song", "show"], ["take", "list"], ["person", "list"], ["part", "list"],
        ["person", "show"], ["instrument", "list"], ["session", "show"], ["setlist", "list"],
        ["history", "--json"], ["person", "list", "--json"], ["sheet", "--as", "json"],
    ):  # fmt: skip
        named = command[-1] == "show" and command[0] != "comp"
        given = give(*command, "--", log) if named else give(*command)
        assert given.code in (0, 1), (command, given)
        assert harmless(given.out), (command, given.out)
        assert harmless(given.err), (command, given.err)


def test_it_comes_back_whole(log: str, name: str, tmp_path: Path) -> None:
    assert log == name
    dumped = done("dump")
    assert dumped.isprintable() or clean(dumped, keep_newlines=True) == dumped
    read = tomllib.loads(dumped)
    assert read["song"][0]["title"] == name
    again = tmp_path / "again.db"
    assert give("--db", str(again), "load", "-", stdin=dumped.encode()).code == 0
    assert done("--db", str(again), "dump") == dumped
    exported = tmp_path / "log.jsonl"
    done("export", str(exported))
    third = tmp_path / "third.db"
    done("--db", str(third), "import-log", str(exported))
    assert done("--db", str(third), "dump") == dumped
    assert done("load", "-", stdin=dumped.encode()).startswith("nothing to add or change\n")


def test_it_is_found_changed_and_removed(log: str) -> None:
    done("person", "edit", "--notes", log, "--", log)
    shown = json.loads(done("person", "show", "--json", "--", log))
    assert shown["record"]["notes"] == log
    done("setlist", "remove", "--yes", "--", log)
    assert json.loads(done("setlist", "list", "--json")) == []
    assert "took back" in done("undo")
    assert json.loads(done("setlist", "list", "--json"))[0]["name"] == log
    said = refused("person", "add", "--", log)
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


def test_pages_hold_it_as_text(log: str, tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    given = give("sheet", "--as", "html", "--out", str(path))
    assert given.code == 0, given
    text = path.read_text(encoding="utf-8")
    assert harmless(text)
    page = Page()
    page.feed(text)
    assert page.odd == []
    assert not {"script", "img", "iframe", "object"} & page.tags


def test_markdown_holds_it_as_text(log: str) -> None:
    from markdown_it import MarkdownIt

    page = Page()
    page.feed(MarkdownIt("commonmark", {"html": True}).enable("table").render(
        done("sheet", "--as", "markdown")
    ))  # fmt: skip
    assert page.odd == []
    assert not {"script", "img", "a"} & page.tags


def test_no_cell_runs_in_a_spreadsheet(log: str) -> None:
    for command in (["credits", "--as", "csv"], ["comp", "show", "--as", "csv"]):
        given = give(*command)
        if given.code == 2:
            continue
        for row in csv.reader(io.StringIO(given.out)):
            for cell in row:
                assert not cell.lstrip().startswith(("=", "+", "-", "@")), cell
