"""In the room: where we are, the next take, the session file in and out."""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.notebook.test_session_file import documented


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    """A log that holds the manual's song."""
    file = tmp_path / "session.toml"
    file.write_text(documented()[0], encoding="utf-8")
    typed = Typed(fresh(), capsys)
    typed(["load", str(tmp_path)])
    return typed


def test_here_is_set_and_said(typed: Typed) -> None:
    assert "no current song yet" in typed("here")
    assert typed("here low --session day") == "Low Water / album / guitar, session day one\n"
    assert typed.json("here") == {
        "session": "day one",
        "song": "Low Water",
        "version": "album",
        "part": "guitar",
    }
    typed("part add voice --player tob")
    assert typed("here --part voi") == "Low Water / album / voice, session day one\n"
    assert typed("here low") == "Low Water / album, session day one\n"
    assert "no current song yet" in typed("here --forget")


def test_here_names_the_closest(typed: Typed) -> None:
    assert "Low Water" in typed("here 'Low Watre'", 2)
    typed("here low")
    assert "guitar" in typed("here --part guitr", 2)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("take", "not rated yet, session day one\n"),
        ("take keeper 1-20 'the one'", "keeper, bars 1-20, session day one; note: the one\n"),
        ("take k 1-20 sweet and low", "keeper, bars 1-20, session day one; note: sweet and low\n"),
        ("take 1-20 k", "keeper, bars 1-20, session day one\n"),
        ("take 1-20 k nice", "keeper, bars 1-20, session day one; note: nice\n"),
        ("take f", "false start, session day one\n"),
        ("take false start 3", "false start, bar 3, session day one\n"),
        ("take 1-8", "not rated yet, bars 1-8, session day one\n"),
        ("take k verse", "keeper, bars 5-12, session day one\n"),
        ("take verse k", "keeper, bars 5-12, session day one\n"),
        ("take if it helps", "not rated yet, session day one; note: if it helps\n"),
        (
            "take c 1-20 --punch 12 --punch '14-15 late'",
            "complete, bars 1-20, punched in at 12 and 14-15, session day one\n",
        ),
    ],
)
def test_the_next_take_is_one_short_line(typed: Typed, line: str, said: str) -> None:
    typed("session edit 'day one' --date today")
    typed("here low --session day")
    assert typed(line) == f"take 4 of guitar, Low Water: {said}"


def test_a_number_of_its_own(typed: Typed) -> None:
    typed("session edit 'day one' --date today")
    typed("here low --session day")
    assert typed("take k -n 9").startswith("take 9 of guitar, Low Water: keeper")


def test_a_take_of_a_new_day_begins_its_session(typed: Typed) -> None:
    today = datetime.date.today().isoformat()
    typed("here low --session day")
    assert typed("take k") == f"take 1 of guitar, Low Water: keeper, session {today}\n"
    assert typed.json("here")["session"] == today
    assert typed("take c").startswith("take 2 of guitar")
    assert typed("take k --session day").endswith("session day one\n")
    typed("undo 3")
    assert today not in typed("session list")


def test_somebody_at_the_terminal_is_asked(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    typed("here low --session day")
    monkeypatch.setattr("sys.stdin", Screen("y\n\n"))
    assert typed("take k").startswith("take 4 of guitar")
    assert typed("take k").startswith("take 1 of guitar")


def test_a_take_holds_what_was_said(typed: Typed) -> None:
    typed("session edit 'day one' --date today")
    typed("here low --session day")
    take = typed.json("take c 1-20 'a bit stiff' --punch '14-15 late on the change'")["take"]
    assert take["number"] == 4
    assert (take["session"], take["result"], take["bars"]) == ("day one", "complete", "1-20")
    assert take["notes"] == "a bit stiff"
    assert take["punch_ins"] == [{"bars": "14-15", "number": 2, "why": "late on the change"}]
    assert "4" in typed("take list")
    assert "keeper" in typed("take edit 4 --result k")
    assert "a bit stiff" in typed("take show 4")


def test_take_numbers_start_again_with_a_session(typed: Typed) -> None:
    typed("session edit 'day one' --date today")
    typed("session add 'day two' --date today")
    typed("here low --session 'day two'")
    assert typed("take k").startswith("take 1 of guitar")
    assert typed("take k --session 'day one'").startswith("take 4 of guitar")
    assert typed.json("take show 1")["record"]["session"] == "day two"
    typed("here low --session 'day one'")
    assert typed.json("take show 1")["record"]["session"] == "day one"
    assert typed.json("take show 1 --session 'day two'")["record"]["session"] == "day two"


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("take rubbish", "is not the result of a take"),
        ("take keeper 9-4", "ends before it has begun"),
        ("take keeper 1-20 --punch x", "is not a bar"),
        ("take k -n 3", "take 3 already exists"),
        ("take k --part nobody", "nobody"),
        ("take k --session never", "never"),
    ],
)
def test_a_slip_is_said_and_logs_nothing(typed: Typed, line: str, says: str) -> None:
    typed("session edit 'day one' --date today")
    typed("here low --session day")
    assert says in typed(line, 2)
    assert typed("take k").startswith("take 4 ")


def test_without_a_place_the_command_says_how_to_set_one(typed: Typed) -> None:
    assert "logbook here SONG" in typed("take keeper", 2)


def test_load_says_what_it_did(typed: Typed, tmp_path: Path) -> None:
    assert typed(["load", str(tmp_path)]).startswith("nothing to add or change\nleft ")
    text = documented()[0].replace("capo = 2", "capo = 3").replace("1 false start", "1 k")
    (tmp_path / "session.toml").write_text(text, encoding="utf-8")
    trial = typed(["load", str(tmp_path / "session.toml"), "--dry-run"])
    said = typed(["load", str(tmp_path / "session.toml")])
    assert said == trial + "2 contradictions came in with it; logbook check says which\n"
    assert "changed part guitar (Low Water / album): capo 2 -> 3" in said
    assert "changed take 1 (Low Water / album / guitar): result false start -> keeper" in said
    data = typed.json(["load", str(tmp_path)])
    assert data["added"] == []
    assert data["changed"] == []
    assert len(data["left"]) > 10


def test_load_tells_every_mistake_and_applies_nothing(typed: Typed, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('people = ["New One"]\nsongg = 1\n[[song]]\ntitel = "x"\n', encoding="utf-8")
    said = typed(["load", str(bad)], 2)
    assert 'bad.toml, line 2: a session file has no "songg"; did you mean' in said
    assert 'bad.toml, line 4: song: a song has no "titel"; did you mean title?' in said
    assert "title is missing" in said
    assert "New One" not in typed("person list")


@pytest.mark.parametrize("name", ["missing.toml", "folder"])
def test_a_file_that_cannot_be_read_is_said(typed: Typed, tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    said = typed(["load", str(tmp_path / name)], 2)
    assert name in said


def test_a_file_that_is_no_text_names_the_line(typed: Typed, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"people = []\n# caf\xe9\n")
    assert "bad.toml, line 2: this is not UTF-8" in typed(["load", str(bad)], 2)


def test_dump_loads_into_an_empty_log(
    typed: Typed, fresh: Callable[[], str], tmp_path: Path
) -> None:
    out = tmp_path / "dumped.toml"
    typed(["dump", "--out", str(out)])
    assert out.read_text(encoding="utf-8") == typed("dump") == typed("dump low")
    other = Typed(fresh(), typed.capsys)
    other(["load", str(out)])
    assert other("dump") == typed("dump")
    assert "no song" in typed("dump nothing", 2)


def test_load_reads_what_is_piped(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    import io

    class Piped:
        buffer = io.BytesIO(b'people = ["Wren Holt"]\n')

    monkeypatch.setattr("sys.stdin", Piped())
    assert typed("load -") == "added person Wren Holt\n"
