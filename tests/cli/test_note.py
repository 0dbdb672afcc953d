"""`logbook note` and `logbook remark`: lines in, answers out, and what stays until settled."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.notebook.lines.days import SALTPAN, WEIR


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> Typed:
    return Typed(fresh(), capsys)


@pytest.mark.parametrize("day", [SALTPAN, WEIR], ids=["saltpan", "weir"])
def test_a_day_from_a_file(typed: Typed, tmp_path: Path, day: str) -> None:
    file = tmp_path / "today.txt"
    file.write_text(day, encoding="utf-8")
    said = typed(["note", str(file)])
    assert f"{len(day.splitlines())} lines read" in said
    assert all(len(line) <= 80 for line in said.splitlines())


def test_a_day_piped_and_a_remark_in_it(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    class Piped:
        buffer = io.BytesIO(b"song One\n\nwibble wobble\nBm7 x24232\n")

    monkeypatch.setattr("sys.stdin", Piped())
    said = typed("note -", 1)
    assert 'remark 1: "wibble wobble" stays as it is' in said
    assert "sounds B F# A D F#: Bm7" in said
    assert "2 lines read, 1 left as remarks (1): logbook remark settle 1" in said


def test_one_line_needs_no_quotes(typed: Typed) -> None:
    typed("note song One")
    assert typed("note t3 keeper 1-16").startswith("take 3 of guitar: keeper, bars 1-16")
    (answer,) = typed.json("note 'Fmaj7 x87910'")
    assert answer["read"]
    assert answer["sounds"].startswith("F A E C E: Fmaj7")


def test_remarks_are_listed_and_settled(typed: Typed) -> None:
    typed("note song One")
    typed("note wibble wobble", 1)
    typed("note t9 punch 4 late", 1)
    assert "no take 9" in typed("remark")
    assert [each["name"] for each in typed.json("remark")] == ["1", "2"]
    assert "neither" in typed("remark settle 2 --line 'take neither of it'", 2)
    assert "take 4 of guitar: keeper" in typed("remark settle 2 --line 't4 keeper 1-16'")
    typed("remark settle 1 it was a cough")
    assert typed("remark") == "no remarks are open\n"
    assert "it was a cough" in typed("remark list --all")
    assert "wibble wobble" in typed("dump")
    assert "no remark" in typed("remark settle 7 done", 2)
    assert "what became of the remark" in typed("remark settle 1", 2)


def test_what_is_no_notebook_says_so(typed: Typed, tmp_path: Path) -> None:
    bad = tmp_path / "bad.txt"
    bad.write_bytes(b"caf\xe9")
    assert "not text in UTF-8" in typed(["note", str(bad)], 2)
    assert "there is no file" in typed("note nothing.txt", 2)
