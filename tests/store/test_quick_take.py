"""The quick way of logging a take leaves what the usual way leaves."""

from __future__ import annotations

import json
from typing import Any

import pytest

from logbook import records as r
from logbook.cli.take_now import is_plain, result_and_bars
from logbook.cli.take_words import read_words
from logbook.errors import LogbookError
from logbook.store.finding import LogPlace
from logbook.store.here import move_here
from logbook.store.quick_take import add_next_take
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import next_take, put
from tests.store.filled import GUITAR, fill

TODAY = "2026-05-02"


def rows(store: Store, table: str) -> list[dict[str, Any]]:
    with store.reading() as connection:
        found = connection.exec_driver_sql(f'SELECT * FROM "{table}" ORDER BY id').mappings()
        return [dict(row) for row in found]


def begun(store: Store) -> None:
    fill(store)
    with store.change("here") as change:
        move_here(change.connection, GUITAR._replace(session="day one"))


def test_it_writes_what_the_usual_way_writes(store: Store) -> None:
    begun(store)
    done = add_next_take(store, "take k 1-8", "keeper", "1-8", TODAY)
    assert done is not None
    quick = rows(store, "take")[-1], rows(store, "command")[-1], rows(store, "change")[-1]
    undo(store)
    with store.change("take k 1-8") as change:
        number = next_take(change, GUITAR, "day one")
        put(change, r.Take(number=number, session="day one", result="keeper", bars="1-8"), GUITAR)
    usual = rows(store, "take")[-1], rows(store, "command")[-1], rows(store, "change")[-1]
    for one, other in zip(quick, usual, strict=True):
        for each in (one, other):
            for name in ("id", "at", "row_id", "command_id", "place", "undone_by"):
                each.pop(name, None)
            each["after"] = json.loads(each.get("after") or "{}")
        assert one == other
    assert (done.number, done.session, done.part) == (number, "day one", "guitar")


def test_it_is_undone_like_any_other(store: Store) -> None:
    begun(store)
    with store.reading() as connection:
        before = read_log(connection)
    assert add_next_take(store, "take", "", "", TODAY)
    undo(store)
    with store.reading() as connection:
        assert read_log(connection) == before


def test_what_is_not_plain_is_left_alone(store: Store) -> None:
    begun(store)
    count = len(rows(store, "take"))
    assert add_next_take(store, "take", "keeper", "", "2026-06-01") is None, "its day is over"
    with store.change("here") as change:
        move_here(change.connection, LogPlace("Salt Road", "album"))
    assert add_next_take(store, "take", "keeper", "", TODAY) is None, "no part is current"
    assert len(rows(store, "take")) == count


@pytest.mark.parametrize(
    "line",
    [
        "", "k", "keeper", "c 1-8", "1-8 c", "false start 3", "fa", "false 1-2", "rej 7", "1-8",
        "k B", "k 1-8 nice", "keeper reject", "8-1", "i", "in", "inc", "12 12", "false start",
        "x", "1.2-3", "k 1-8 9", "KEEPER 1-4", "007", "re",
    ],
)  # fmt: skip
def test_both_ways_read_the_same(line: str) -> None:
    quick = result_and_bars(line.split())
    version = r.Version(name="v", form=(r.FormSection(name="B", start=1, bars=4),))
    owners = (r.Song(title="S", versions=(version,)), version, r.Part(name="g"))
    if quick is None:
        return
    try:
        usual, _, _ = read_words(line.split(), owners)
    except LogbookError:
        raise AssertionError(f"{line} is not a take, and was read as {quick}") from None
    assert (usual["result"], usual["bars"]) == quick
    assert usual["notes"] == ""


def test_plain_words() -> None:
    assert is_plain(["k", "1-8"])
    assert is_plain([])
    assert not is_plain(["list"])
    assert not is_plain(["k", "--json"])
