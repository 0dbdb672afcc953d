"""Songs that are new come into the log in one go, and are there as if they had come row by row."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from logbook import records as r
from logbook.errors import LogbookError
from logbook.notebook.applying import put_all
from logbook.store.lifecycle import open_log
from logbook.store.planting import plant_new
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import put, put_log
from tests.drawn import any_log

_NUMBERS = re.compile(r"(?<=[a-z_] )\d+")


def whole(store: Store) -> r.Log:
    with store.reading() as connection:
        return read_log(connection)


def _history(store: Store) -> Counter[tuple[str, ...]]:
    """What the history says of every row, without their numbers."""
    with store.reading() as connection:
        rows = connection.exec_driver_sql(
            "SELECT action, kind, label, place, after FROM change"
        ).fetchall()
    told: Counter[tuple[str, ...]] = Counter()
    for action, kind, label, place, after in rows:
        said = json.loads(after)
        # Numbers of other rows, and a part's that was written in two steps.
        plain = {k: v for k, v in said.items() if not k.endswith("_id") and k != "revision"}
        if action == "added":
            told[action, kind, label, _NUMBERS.sub("", place), str(sorted(plain.items()))] += 1
    return told


@settings(
    max_examples=4, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)
@given(log=any_log())
def test_they_are_there_as_if_they_had_come_one_by_one(
    fresh: Callable[[], str], log: r.Log
) -> None:
    with open_log(fresh()) as slowly, open_log(fresh()) as quickly:
        with slowly.change("load") as change:
            put_log(change, log)
        with quickly.change("load") as change:
            for records in (log.people, log.tunings, log.instruments, log.sessions, log.songs):
                left = plant_new(change, records)
                # A file may hang in two places of a random log.
                assert not left or records is log.songs
                for each in left:
                    put(change, each)
            for record in (*log.projects, *log.setlists, *log.remarks, *log.files):
                put(change, record)
        assert whole(quickly) == whole(slowly) == log
        assert _history(quickly) == _history(slowly)
        if log != r.Log():
            undo(quickly)
        assert whole(quickly) == r.Log()


def _song(title: str, *parts: r.Part) -> r.Song:
    return r.Song(title=title, versions=(r.Version(name="album", parts=parts),))


def test_what_is_there_in_another_spelling_is_left_to_be_changed(store: Store) -> None:
    with store.change("load") as change:
        put_all(change, (_song("Don't Row"),))
        put_all(change, (_song("Don’t Row", r.Part(name="oar")), _song("Tiller")))
    songs = whole(store).songs
    assert [each.title for each in songs] == ["Don’t Row", "Tiller"]
    assert songs[0].versions[0].parts[0].name == "oar"


def test_parts_name_one_another_whichever_comes_first(store: Store) -> None:
    low = r.Part(name="low", doubles=(r.Double(part="high"),))
    with store.change("load") as change:
        assert plant_new(change, [_song("Salt Road", low, r.Part(name="high"))]) == []
    assert whole(store).songs[0].versions[0].parts[0].doubles == (r.Double(part="high"),)


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (r.Part(name="low", doubles=(r.Double(part="hihg"),)), "no part is called"),
        (r.Part(name="low", instrument="oboe"), "no instrument is called"),
        (r.Part(name="low", takes=(r.Take(number=2**40),)), "too large"),
        (r.Part(name="low", chart=(r.ChartEntry(bar=1, voicing="Zz"),)), "no voicing is called"),
    ],
)
def test_what_the_log_cannot_hold_is_refused_whole(store: Store, part: r.Part, said: str) -> None:
    with pytest.raises(LogbookError, match=said), store.change("load") as change:
        put_all(change, (_song("Salt Road"), _song("Weir", part)))
    assert whole(store) == r.Log()


def test_a_file_that_hangs_elsewhere_moves(store: Store) -> None:
    file = r.AudioFile(path="a.wav", folder="/boathouse", digest="aa")
    with store.change("load") as change:
        put(change, file)
        put_all(change, (_song("Salt Road", r.Part(name="oar", files=(file,))), _song("Weir")))
    log = whole(store)
    assert log.files == ()
    assert {each.title for each in log.songs} == {"Salt Road", "Weir"}


def test_a_large_load_keeps_little_in_mind(store: Store) -> None:
    with store.change("load") as change:
        put_all(change, [_song(f"Song {n}", r.Part(name="oar")) for n in range(900)])
        assert len(change.noted) < 2500
        assert change.count == 2700
    with store.reading() as connection:
        assert connection.exec_driver_sql("SELECT COUNT(*) FROM change").scalar() == 2700
        assert connection.exec_driver_sql("SELECT COUNT(*) FROM command").scalar() == 1
