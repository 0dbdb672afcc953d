"""A session file goes into the database whole, twice without effect, and comes out the same."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from logbook.errors import LogbookError
from logbook.notebook.applying import apply_text
from logbook.notebook.problems import NotebookError
from logbook.notebook.report import Report, report
from logbook.notebook.write import write_log
from logbook.records import Log
from logbook.store.history import history
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.writing import put_log
from tests.conftest import SAMPLE
from tests.drawn import any_log
from tests.notebook.test_session_file import documented

# Whole logs take too long to shrink; the failing one is printed as it came.
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)


def load(store: Store, text: str) -> Report:
    with store.change("load") as change:
        return report(apply_text(change, text, folder="/boathouse").mentions)


def contents(store: Store) -> Log:
    with store.reading() as connection:
        return read_log(connection)


def commands(store: Store) -> int:
    with store.reading() as connection:
        return len(history(connection))


def test_loading_twice_changes_nothing(store: Store) -> None:
    text = documented()[0]
    first = load(store, text)
    assert not first.changed
    assert not first.left
    before = contents(store)
    second = load(store, text)
    assert not second.added
    assert not second.changed
    assert second.lines()[0] == "nothing to add or change"
    assert contents(store) == before
    assert commands(store) == 1


def test_what_changed_is_said_and_the_rest_is_untouched(store: Store) -> None:
    load(store, documented()[0])
    told = load(
        store,
        '[[song]]\ntitle = "Low Water"\n[[song.version]]\nname = "album"\nkey = "E"\n'
        '[[song.version.part]]\nname = "guitar"\ntakes = ["3 complete", "4 keeper 1-20"]\n'
        '[song.version.part.voicings]\nA = "7 x 0 0 x 0"\n',
    )
    assert told.lines() == [
        "added to Low Water / album / guitar: 1 voicing, 1 take",
        "changed version album (Low Water): key D -> E",
        "changed take 3 (Low Water / album / guitar): result keeper -> complete",
        "left 2 as they were",
    ]
    (version,) = contents(store).songs[0].versions
    (part,) = version.parts
    assert [take.number for take in part.takes] == [1, 2, 3, 4]
    assert part.takes[2].notes == "the one with the long ring"
    assert part.takes[2].bars == "1-20"
    assert [each.label for each in part.voicings] == ["D", "G", "A"]
    assert len(part.chart) == 21
    assert version.form


def test_a_mistake_changes_nothing(store: Store) -> None:
    load(store, documented()[0])
    before = contents(store)
    text = documented()[0].replace('"album"', '"single"').replace("1-8   take 2", "1-8 rubbish")
    with pytest.raises(NotebookError):
        load(store, text)
    assert contents(store) == before


def test_what_the_log_cannot_hold_changes_nothing(store: Store) -> None:
    with pytest.raises(LogbookError):
        load(store, '[[person]]\nname = "A"\n[[song]]\ntitle = "x"\nshares = ["B 1/2"]\n')
    assert contents(store) == Log()


def test_a_song_is_dumped_alone(store: Store) -> None:
    load(store, documented()[0] + '\n[[song]]\ntitle = "Slack Tide"\n')
    with store.reading() as connection:
        log = read_log(connection, [1])
    assert "Slack Tide" not in write_log(log)


def test_the_sample_session_comes_out_as_it_went_in(fresh: Callable[[], str]) -> None:
    text = (SAMPLE / "session.toml").read_text(encoding="utf-8")
    with open_log(fresh()) as first, open_log(fresh()) as second:
        load(first, text)
        dumped = write_log(contents(first))
        load(second, dumped)
        assert contents(second) == contents(first)
        assert not load(first, dumped).changed


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES)
@given(log=any_log())
def test_any_log_is_the_same_after_dump_and_load(log: Log, fresh: Callable[[], str]) -> None:
    with open_log(fresh()) as first, open_log(fresh()) as second:
        with first.change("put") as change:
            put_log(change, log)
        there = contents(first)
        load(second, write_log(there))
        assert contents(second) == there
        again = load(second, write_log(there))
        assert not again.added
        assert not again.changed
