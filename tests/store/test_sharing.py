"""What helpers read comes together as one moment of the log, whoever writes meanwhile."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import Connection

from logbook import records as r
from logbook.store import sharing
from logbook.store.sharing import in_parts
from logbook.store.store import Store
from logbook.store.writing import put


def people(connection: Connection, least: int) -> int:
    found = connection.exec_driver_sql(f"SELECT COUNT(*) FROM person WHERE id >= {least:d}")
    return int(found.scalar() or 0)


def add(store: Store, name: str) -> None:
    with store.change("person add") as change:
        put(change, r.Person(name=name))


@pytest.fixture(autouse=True)
def helper(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """This process stands in for two helpers."""
    monkeypatch.setattr(sharing, "helpers", lambda: 2)
    monkeypatch.setattr(sharing, "shared_out", lambda function, items, count: map(function, items))
    sharing._connected.cache_clear()
    yield
    sharing._connected.cache_clear()


def test_helpers_read_what_the_one_who_asks_sees(file_store: Store) -> None:
    add(file_store, "Ada")
    add(file_store, "Ned")
    with file_store.reading() as connection:
        assert list(in_parts(file_store, connection, people, [1, 2, 3] * 3)) == [2, 1, 0] * 3
    assert sharing._connected.cache_info().currsize == 1
    sharing._connected(file_store.target)[0].close()


def test_a_helper_that_sees_another_moment_is_not_believed(file_store: Store) -> None:
    add(file_store, "Ada")
    with file_store.reading() as connection:
        assert people(connection, 1) == 1  # the moment that counts begins here
        add(file_store, "Ned")
        assert list(in_parts(file_store, connection, people, [1] * 6)) == [1] * 6
        there, _ = sharing._connected(file_store.target)
        assert people(there, 1) == 2
        there.close()
