"""Whatever a command changes is told by the history, and taken back whole by undo."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from logbook.records import Log
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from tests.robustness.commands import ROOT, done, refused

LOW = ("--song", "Low Tide Ledger")
EP = (*LOW, "--version", "EP")
GUITAR = (*EP, "--part", "guitar")

# A noun's commands, as they are typed one after another; each changes something.
NOUNS: dict[str, list[tuple[str, ...]]] = {
    "song": [
        ("song", "add", "New Song"),
        ("song", "edit", "New", "--title", "Newer Song"),
        ("song", "remove", "Newer", "--yes"),
    ],
    "version": [
        ("version", "add", "live", *LOW, "--key", "A"),
        ("version", "edit", "live", *LOW, "--key", "G"),
        ("version", "remove", "live", *LOW, "--yes"),
    ],
    "part": [
        ("part", "add", "shaker", *EP, "--player", "Tam"),
        ("part", "edit", "shaker", *EP, "--pan", "left"),
        ("part", "remove", "shaker", *EP, "--yes"),
    ],
    "take": [
        ("take", "add", "keeper", "1-8", "fine", *EP, "--at", "guitar", "--session", "day one"),
        ("take", "edit", "5", *GUITAR, "--result", "reject"),
        ("take", "remove", "5", *GUITAR, "--yes"),
    ],
    "comp": [
        ("comp", "add", "second", *GUITAR, "--pieces", "1-2 take 3", "--pieces", "3-12 take 2"),
        ("comp", "remove", "second", *GUITAR, "--yes"),
    ],
    "piece": [("piece", "remove", "7-8", *GUITAR, "--yes")],
    "voicing": [
        ("voicing", "edit", "A", *GUITAR, "--fingers", "3 2 - - - 4"),
        ("voicing", "add", "C", "x 3 2 0 1 0", *GUITAR),
        ("voicing", "remove", "C", *GUITAR, "--yes"),
    ],
    "section": [("section", "remove", "outro", *EP, "--yes")],
    "person": [
        ("person", "add", "Somebody"),
        ("person", "edit", "Somebody", "--notes", "late"),
        ("person", "remove", "Somebody", "--yes"),
    ],
    "instrument": [("instrument", "edit", "parlour", "--notes", "quiet now")],
    "tuning": [
        ("tuning", "add", "low", "--strings", "D2 A2 D3 F#3 A3 D4"),
        ("tuning", "remove", "low", "--yes"),
    ],
    "session": [
        ("session", "add", "day three", "--date", "2026-05-04"),
        ("session", "remove", "day three", "--yes"),
    ],
    "project": [("project", "remove", "Slack Water", "--yes")],
    "setlist": [("setlist", "remove", "harbour fair", "--yes")],
    "a whole song": [("song", "remove", "Rowan Gate", "--yes")],
}


def said_of() -> Log:
    """Everything that the log says, without printing it."""
    with open_log() as store, store.reading() as connection:
        return read_log(connection)


def entries(*about: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(done("history", *about, "--limit", "500", "--json"))
    return found


@pytest.mark.parametrize("noun", NOUNS)
def test_every_change_is_told_and_can_be_taken_back(noun: str, sample: str) -> None:
    # A setlist or project that names the song would have to be changed before it goes.
    first = [("setlist", "remove", "harbour", "--yes"), ("project", "remove", "Slack", "--yes")]
    commands = [*(first if noun == "a whole song" else []), *NOUNS[noun]]
    states = [said_of()]
    for command in commands:
        done(*command, LOGBOOK_USER="Ada")
        states.append(said_of())
        assert states[-1] != states[-2], command
        newest = entries()[0]
        assert newest["who"] == "Ada"
        assert newest["command"].split()[:2] == list(command[:2])
        assert newest["at"].startswith("20")
        assert newest["changes"]
        if command[1] == "edit":
            changed = [field for each in newest["changes"] for field in each["fields"]]
            assert any(field["old"] != field["new"] for field in changed)
    # Somebody else takes them back only where that is meant.
    refused("undo", LOGBOOK_USER="Ben")
    for before in reversed(states[:-1]):
        done("undo", "--anyone", "--yes", LOGBOOK_USER="Ben")
        assert said_of() == before
    assert done("redo", LOGBOOK_USER="Ben")
    assert said_of() == states[1]
    done("undo", "--anyone", "--yes", LOGBOOK_USER="Ben")
    assert said_of() == states[0]
    # Nothing of it has left the history.
    told = [each["command"] for each in entries()]
    assert len(told) >= 2 * len(commands)
    assert sum(each["who"] == "Ben" for each in entries()) == len(commands) + 2


def test_what_another_did_is_taken_back_only_where_that_is_meant(sample: str) -> None:
    done("song", "add", "Ada's", LOGBOOK_USER="Ada")
    number = str(entries()[0]["id"])
    said = refused("undo", "--command", number, LOGBOOK_USER="Ben")
    assert "Ada" in said
    assert "--yes" in said
    done("undo", "--command", number, LOGBOOK_USER="Ada")
    assert "Ada" in refused("redo", "--anyone", LOGBOOK_USER="Ben")
    done("redo", "--anyone", "--yes", LOGBOOK_USER="Ben")
    assert json.loads(done("song", "list", "--json"))[-1]["title"] == "Ada's"


def test_several_commands_at_once(sample: str) -> None:
    before = said_of()
    for command in NOUNS["person"]:
        done(*command)
    for command in NOUNS["take"][:2]:
        done(*command)
    said = done("undo", "5")
    assert said.count("took back") == 5
    assert said_of() == before
    done("redo")
    assert "take" in done("undo", "1")


def test_a_load_is_taken_back_whole_and_comes_again(sample: str) -> None:
    done("undo")
    assert json.loads(done("song", "list", "--json")) == []
    assert json.loads(done("person", "list", "--json")) == []
    done("redo")
    assert len(json.loads(done("song", "list", "--json"))) == 4
    done("undo")
    done("load", str(ROOT / "sample_session"))
    assert len(json.loads(done("song", "list", "--json"))) == 4


def test_an_import_is_taken_back_whole(sample: str, tmp_path: Path) -> None:
    before = said_of()
    shutil.copytree(ROOT / "sample_session", tmp_path / "session")
    done("import", str(tmp_path / "session"))
    assert said_of() != before
    done("undo")
    assert said_of() == before


def test_an_undo_in_whose_way_something_stands(sample: str) -> None:
    done("take", "edit", "2", *GUITAR, "--notes", "first")
    number = entries()[0]["id"]
    done("take", "edit", "2", *GUITAR, "--notes", "second")
    before = said_of()
    said = refused("undo", "--command", str(number))
    assert "later change" in said
    assert said_of() == before
    refused("undo", "--command", "9999")
    refused("undo", "0")
    refused("undo", "-1")
    refused("undo", "9", "--yes")
    refused("undo", "9999", "--yes")
    refused("redo")
    assert said_of() == before


def test_every_wording_of_notes_is_kept(sample: str) -> None:
    for wording in ("rushed", "perfect", "no: rushed"):
        done("take", "edit", "2", *GUITAR, "--notes", wording)
    done("undo")
    said = done("history", "low", "--part", "guitar", "--take", "2", "--wordings").splitlines()
    assert [line.partition(": ")[2] for line in said] == [
        "steady, the chorus a little tame", "rushed", "perfect", "no: rushed", "perfect",
    ]  # fmt: skip


def test_history_of_one_song_and_one_take(sample: str) -> None:
    done("take", "edit", "2", *GUITAR, "--notes", "here")
    done("song", "edit", "Varnish", "--title", "Lacquer")
    low = [each["command"] for each in entries("low")]
    assert any("here" in each for each in low)
    assert not any("Lacquer" in each for each in low)
    take = entries("low", "--part", "guitar", "--take", "2")
    assert len(take[0]["changes"]) == 1
    assert take[0]["changes"][0]["fields"] == [
        {"name": "notes", "old": "steady, the chorus a little tame", "new": "here"}
    ]
    other = entries("low", "--part", "guitar", "--take", "3")
    assert not any("here" in each["command"] for each in other)
    text = done("history", "low", "--part", "guitar", "--take", "2", "--limit", "1")
    assert "steady, the chorus a little tame -> here" in " ".join(text.split())
    # What is gone can still be asked for by its song.
    done("take", "add", "keeper", *EP, "--at", "guitar", "--session", "day one")
    done("take", "remove", "5", *GUITAR, "--yes")
    assert entries("low")[0]["changes"][0]["action"] == "removed"
