"""Every change is kept, can be read as names, and can be taken back."""

from __future__ import annotations

import pytest

from logbook import records as r
from logbook.errors import LogbookError
from logbook.store.editing import edit
from logbook.store.finding import LogPlace, find
from logbook.store.history import (
    changes_of,
    commands,
    first_changes,
    gathered,
    history,
    wordings,
)
from logbook.store.reading import read_log
from logbook.store.removing import remove
from logbook.store.store import Store
from logbook.store.undoing import next_undone, redo, undo, undo_command
from logbook.store.writing import put
from tests.store.filled import GUITAR, fill, take


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def test_a_change_says_who_when_what_from_and_to(store: Store) -> None:
    fill(store)
    with store.change("part edit guitar", who="Cleo") as change:
        edit(change, find(change.connection, "part", "guitar", GUITAR), {"player": "Ben"})
    with store.reading() as connection:
        entry = history(connection, limit=1)[0]
    assert (entry.who, entry.command) == ("Cleo", "part edit guitar")
    assert entry.at.endswith("Z")
    (row,) = entry.changes
    assert (row.action, row.label) == ("changed", "part guitar of album, Salt Road")
    assert row.fields == (("player", "Ada", "Ben"),)


def test_the_first_rows_of_a_command_are_told_without_reading_the_rest(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        for entry, bare in zip(history(connection), commands(connection), strict=True):
            assert bare == entry._replace(changes=())
            assert tuple(changes_of(connection, bare)) == entry.changes
            told = gathered(entry.changes)
            for shown in (1, 3, 12, 10_000):
                some, more = first_changes(connection, bare, shown)
                assert (some, more) == (told[:shown], len(told[shown:]))


def test_a_command_that_changes_nothing_leaves_no_trace(store: Store) -> None:
    fill(store)
    with store.change("load again") as change:
        put(change, r.Person(name="Ben"))
    with store.reading() as connection:
        assert history(connection, limit=1)[0].command == "take add good"


def test_history_of_one_thing_tells_what_stands_in_it(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        song = find(connection, "song", "salt")
        other = find(connection, "song", "low")
        part = find(connection, "part", "guitar two", GUITAR._replace(part=""))
        assert [entry.command for entry in history(connection, song)] == [
            "take add good",
            "load small.toml",
        ]
        assert {change.kind for change in history(connection, other)[0].changes} == {"song"}
        kinds = {change.kind for change in history(connection, part)[0].changes}
        assert kinds == {"part", "overdub"}


def test_notes_keep_their_earlier_wording(store: Store) -> None:
    fill(store)
    for notes in ("a little late", "late in bar 3"):
        with store.change("take note") as change:
            found = find(change.connection, "take", "1", GUITAR._replace(session="day one"))
            edit(change, found, {"notes": notes})
    with store.reading() as connection:
        found = find(connection, "take", "1", GUITAR._replace(session="day one"))
        said = [wording.text for wording in wordings(connection, found)]
    assert said == ["the good one", "a little late", "late in bar 3"]


def test_undo_takes_back_a_load_and_redo_brings_it_again(store: Store) -> None:
    fill(store)
    before = whole(store)
    assert [each.command for each in undo(store, 2)] == ["take add good", "load small.toml"]
    assert whole(store) == r.Log()
    redo(store)
    assert whole(store) == before
    with store.reading() as connection:
        commands = [entry.command for entry in history(connection)]
    assert commands == ["redo", "undo 2", "take add good", "load small.toml"]


def test_undo_twice_goes_two_commands_back(store: Store) -> None:
    fill(store)
    undo(store)
    undo(store)
    assert whole(store) == r.Log()
    with pytest.raises(LogbookError, match="no commands of tester to take back"):
        undo(store)


def test_undo_after_redo_takes_the_same_command_back(store: Store) -> None:
    fill(store)
    undo(store)
    redo(store)
    assert [each.command for each in undo(store)] == ["take add good"]


def test_undo_brings_back_a_removed_song_with_all_it_held(store: Store) -> None:
    fill(store)
    before = whole(store)
    with store.change("song remove") as change:
        dones = remove(change, find(change.connection, "song", "Salt Road"), confirmed=True)
    assert len({done.kind for done in dones}) > 15
    assert [song.title for song in whole(store).songs] == ["Low Water"]
    undo(store)
    assert whole(store) == before


def test_undo_refuses_when_a_later_change_is_in_the_way(store: Store) -> None:
    fill(store)
    with store.change("rate") as change:
        found = find(change.connection, "take", "2", GUITAR._replace(session="day two"))
        edit(change, found, {"result": "keeper"})
    with store.reading() as connection:
        number = history(connection)[1].id
    before = whole(store)
    with pytest.raises(LogbookError, match="a later change is in the way"):
        undo_command(store, number)
    assert whole(store) == before


def test_undo_refuses_to_take_away_what_something_new_hangs_on(store: Store) -> None:
    with store.change("song add") as change:
        put(change, r.Song(title="Reed"))
    with store.change("version add") as change:
        put(change, r.Version(name="demo"), LogPlace("Reed"))
    with store.reading() as connection:
        first = history(connection)[-1].id
    with pytest.raises(LogbookError, match="1 version belongs to it"):
        undo_command(store, first)
    assert whole(store).songs[0].versions[0].name == "demo"


def test_an_earlier_command_can_be_taken_back_alone(store: Store) -> None:
    fill(store)
    with store.change("take add 3") as change:
        take(change, 3, "day one")
    with store.change("take add 4") as change:
        take(change, 4, "day one")
    with store.reading() as connection:
        number = history(connection)[1].id
    undo_command(store, number)
    takes = whole(store).songs[0].versions[0].parts[0].takes
    assert [t.number for t in takes if t.session == "day one"] == [1, 4]
    with pytest.raises(LogbookError, match="already taken back"):
        undo_command(store, number)


def test_an_error_leaves_neither_rows_nor_history(store: Store) -> None:
    fill(store)
    before = whole(store)

    def half_right() -> None:
        with store.change("bad") as change:
            take(change, 7, "day one")
            put(change, r.Part(name="x", player="Nobody"), LogPlace("Salt Road", "album"))

    with pytest.raises(LogbookError, match='no person is called "Nobody"'):
        half_right()
    assert whole(store) == before
    with store.reading() as connection:
        assert history(connection, limit=1)[0].command == "take add good"


def test_an_undo_takes_back_ones_own_last_command(store: Store) -> None:
    with store.change("song add Mine", who="Oda") as change:
        put(change, r.Song(title="Mine"))
    with store.change("song add Yours", who="Ina") as change:
        put(change, r.Song(title="Yours"))
    (undone,) = undo(store, who="Oda")
    assert undone.command == "song add Mine"
    with pytest.raises(LogbookError, match="of Oda to take back; the last one is Ina's"):
        undo(store, who="Oda")
    with pytest.raises(LogbookError, match="no undo of Ina"):
        redo(store, who="Ina")
    with pytest.raises(LogbookError, match="meanwhile"):
        undo(store, who="Oda", anyone=True, expected=[undone.id])
    assert next_undone(store, who="Oda", anyone=True)[0].command == "song add Yours"
    assert undo(store, who="Oda", anyone=True)[0].who == "Ina"
    assert [each.command for each in redo(store, who="Oda")] == ["undo"]
