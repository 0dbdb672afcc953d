"""What an earlier program wrote loads unchanged: an export and a session file of schema 0008."""

from __future__ import annotations

import json
from pathlib import Path

from logbook.notebook.applying import apply_text
from logbook.notebook.read import read_log
from logbook.notebook.write import write_log
from logbook.records import Log
from logbook.store.exchange import import_log
from logbook.store.history import history
from logbook.store.reading import read_log as read_stored
from logbook.store.store import Store

FROZEN = Path(__file__).parent.parent / "frozen"
EXPORT, SESSION = FROZEN / "log-0008.jsonl", FROZEN / "session-0008.toml"


def stored(store: Store) -> Log:
    with store.reading() as connection:
        return read_stored(connection)


def test_an_export_of_then_is_the_log_it_was(store: Store) -> None:
    counts = json.loads(EXPORT.read_text(encoding="utf-8").partition("\n")[0])["counts"]
    assert import_log(store, EXPORT)["take"] == counts["take"] > 0
    log = stored(store)
    (song,) = [each for each in log.songs if each.notes]
    assert song.notes == "kept from a log of schema 0008"
    assert len(log.songs) == counts["song"]
    with store.reading() as connection:
        assert len(history(connection)) == counts["command"]
    # The session file was dumped from the same log.
    assert read_log(SESSION.read_text(encoding="utf-8")) == log


def test_a_session_file_of_then_says_the_same_log(store: Store) -> None:
    text = SESSION.read_text(encoding="utf-8")
    with store.change("load") as change:
        apply_text(change, text)
    once = stored(store)
    assert once == read_log(text)
    with store.change("load again") as change:
        apply_text(change, text)
    assert stored(store) == once
    assert read_log(write_log(once)) == once
