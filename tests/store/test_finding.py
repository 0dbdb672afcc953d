"""Names are found by unambiguous beginnings, and a near miss is answered with the closest."""

from __future__ import annotations

import pytest

from logbook import records as r
from logbook.store.errors import NotFoundError
from logbook.store.finding import LogPlace, choose, find, find_owner
from logbook.store.here import Here, read_here, set_here
from logbook.store.removing import remove
from logbook.store.searching import search
from logbook.store.store import Store
from logbook.store.writing import put
from tests.store.filled import GUITAR, fill

NAMES = ["guitar", "guitar two", "Bass", "voice", "Ærø", "Straße"]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("guitar", "guitar"),
        ("guitar t", "guitar two"),
        ("bass", "Bass"),
        ("BA", "Bass"),
        ("ærø", "Ærø"),
        ("strasse", "Straße"),
        ("v", "voice"),
    ],
)
def test_a_beginning_is_enough(said: str, meant: str) -> None:
    assert choose(said, NAMES, "part") == meant


def test_an_ambiguous_beginning_names_them_all() -> None:
    with pytest.raises(NotFoundError, match='"guitar", "guitar two"'):
        choose("gui", NAMES, "part")


@pytest.mark.parametrize(("said", "close"), [("gitar", "guitar"), ("vocie", "voice")])
def test_a_near_miss_is_answered_with_the_closest(said: str, close: str) -> None:
    with pytest.raises(NotFoundError, match=f'"{close}"'):
        choose(said, NAMES, "part")


@pytest.mark.parametrize("said", ["", " ", "\n"])
def test_nothing_means_nothing(said: str) -> None:
    with pytest.raises(NotFoundError):
        choose(said, NAMES, "part")


def test_nobody_is_called_like_that_yet() -> None:
    with pytest.raises(NotFoundError, match="there is no part yet"):
        choose("x", [], "part")


def test_a_place_leads_down_and_an_only_version_need_not_be_named(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        assert find(connection, "part", "guitar t", LogPlace("salt")).name == "guitar two"
        assert find_owner(connection, "version", LogPlace("salt")).name == "album"
        with pytest.raises(NotFoundError, match="which song"):
            find(connection, "version", "album")
        with pytest.raises(NotFoundError, match='no song is called "Slat"'):
            find(connection, "song", "Slat")


def test_a_take_is_its_number_and_where_that_is_not_enough_its_session(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        with pytest.raises(NotFoundError, match="say in which session"):
            find(connection, "take", "1", GUITAR)
        one = find(connection, "take", "1", GUITAR._replace(session="day one"))
        two = find(connection, "take", "1", GUITAR._replace(session="day t"))
        assert one.id != two.id
        with pytest.raises(NotFoundError, match="no take 9"):
            find(connection, "take", "9", GUITAR)
        with pytest.raises(NotFoundError, match="whole number"):
            find(connection, "take", "first", GUITAR)


@pytest.mark.parametrize("name", ["a\x00b", "\udcff", "x" * 10_000, "'; DROP TABLE song; --", "%"])
def test_names_that_cannot_be_are_not_found(store: Store, name: str) -> None:
    fill(store)
    with store.reading() as connection, pytest.raises(NotFoundError):
        find(connection, "song", name)
    set_here(store, session_id=1, version_id=1, part_id=1, who=name)
    with store.reading() as connection:
        assert read_here(connection, name).part == "guitar"


def test_here_is_remembered_for_each_person_and_forgets_what_is_gone(store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        assert read_here(connection) == Here("day one", "Salt Road", "album", "guitar")
        assert read_here(connection, "Cleo") == Here()
    set_here(store, session_id=2, version_id=1, part_id=2, who="Cleo")
    with store.change("remove") as change:
        remove(change, find(change.connection, "song", "Salt"), confirmed=True)
    with store.reading() as connection:
        assert read_here(connection, "Cleo") == Here(session="day two")


def test_words_are_found_wherever_they_were_written(store: Store) -> None:
    fill(store)
    with store.change("more") as change:
        put(change, r.Song(title="Ærlig TALT", notes="about the boathouse"))
    with store.reading() as connection:
        (take,) = [hit for hit in search(connection, "good one") if hit.kind == "take"]
        assert take.place == LogPlace("Salt Road", "album", "guitar", 1)
        assert (take.field, take.text) == ("notes", "the good one")
        assert [hit.kind for hit in search(connection, "ærlig boathouse")] == ["song"]
        assert {hit.kind for hit in search(connection, "BOATHOUSE")} == {"song", "project"}
        (buzz,) = search(connection, "buzz")
        assert (buzz.kind, buzz.place.part) == ("punch_in", "guitar")
        files = [hit for hit in search(connection, "guitar_1.wav") if hit.kind == "audio_file"]
        where = LogPlace("Salt Road", "album", "guitar", 1, file="takes/guitar_1.wav")
        assert files[0].place == where
        assert search(connection, "boathouse nowhere") == []
        assert search(connection, "  ") == []
        assert len(search(connection, "a", limit=2)) == 2
