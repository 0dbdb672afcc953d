"""What is put into the log is read from it again, unchanged, on both databases."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import HealthCheck, given, settings

from logbook import records as r
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.writing import put_log
from tests.drawn import any_log

SLOW = settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


@SLOW
@given(log=any_log())
def test_a_log_reads_as_it_was_put_whole_and_by_song(fresh: Callable[[], str], log: r.Log) -> None:
    with open_log(fresh()) as store:
        with store.change("load") as change:
            put = put_log(change, log)
        assert all(done.action == "added" for done in put)
        assert whole(store) == log
        songs = [done.id for done in put if done.kind == "song"]
        with store.reading() as connection:
            for song, song_id in zip(log.songs, songs, strict=True):
                assert read_log(connection, [song_id]).songs == (song,)
            assert read_log(connection, songs).songs == log.songs
        # Put a second time it changes nothing.
        with store.change("load") as change:
            assert {done.action for done in put_log(change, log)} <= {"left"}
            assert change.count == 0
        assert whole(store) == log
