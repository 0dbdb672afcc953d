"""A large session file, read piece by piece, comes to the same log and the same mistakes."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest

from logbook.errors import LogbookError
from logbook.notebook import large_files
from logbook.notebook.applying import apply_text
from logbook.notebook.dumping import dump_pieces
from logbook.notebook.large_files import apply_large, pieces_of
from logbook.notebook.problems import NotebookError
from logbook.notebook.report import Reports, report
from logbook.records import Log
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from tests.store.filled import fill

AWKWARD = '''\
# before all headings, in another order than the nouns are read
setlist = []
person = ["Ada", "Ned O'Dell"]

[[song]]
title = "Ada's Tune"
notes = """
[[song]]
title = 'not one "\\"""
"""
shares = ["Ned O'Dell 1/1"]
[[song.version]]
name = "album"  # a word on """ it
form = ["verse 1-4"]
[[song.version.part]]
name = "guitar"
tuning = "standard"
takes = [1, "2 keeper 1-4"]

[[session]]
name = "day one"
date = 2026-03-01

[[song]]
title = "Low Water"
notes = \'\'\'[[person]]\'\'\'
'''


def whole(store: Store) -> Log:
    with store.reading() as connection:
        return read_log(connection)


def load_large(store: Store, text: str, name: str = "large.toml") -> Reports:
    told = Reports(with_data=True)
    with store.change("load") as change:
        stream = io.BytesIO(text.encode())
        for piece in apply_large(change, stream, folder="/sessions", name=name):
            told.take_in(report(piece.mentions))
    return told


@pytest.fixture
def two(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Two empty logs; a file is read in as many pieces as can be."""
    monkeypatch.setattr(large_files, "_AT_ONCE", 1)
    with open_log(str(tmp_path / "one.db")) as one, open_log(str(tmp_path / "two.db")) as other:
        yield one, other


def test_a_file_in_pieces_is_the_same_as_in_one(two: tuple[Store, Store]) -> None:
    one, other = two
    with one.change("load") as change:
        reading = apply_text(change, AWKWARD, folder="/sessions", file="large.toml")
    told = load_large(other, AWKWARD)
    assert whole(one) == whole(other)
    assert sorted(told.lines()) == sorted(report(reading.mentions).lines())
    again = load_large(other, AWKWARD)
    assert again.lines()[0] == "nothing to add or change"
    assert {key: len(held) for key, held in again.data().items()}["added"] == 0


def test_what_dump_writes_is_loaded_piece_by_piece(two: tuple[Store, Store], store: Store) -> None:
    fill(store)
    with store.reading() as connection:
        text = "".join(dump_pieces(store, connection))
    load_large(two[0], text)
    assert whole(two[0]) == whole(store)


def test_pieces_hold_all_of_the_file_and_begin_at_its_lines() -> None:
    data = AWKWARD.encode()
    pieces = pieces_of(io.BytesIO(data))
    assert [each.key for each in pieces] == ["", "song", "session", "song"]
    assert b"".join(data[p.start : p.start + p.size] for p in pieces) == data
    assert [data[: p.start].count(b"\n") + 1 for p in pieces] == [p.line for p in pieces]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("2 keeper 1-4", "2 kepper 1-4"),
        ("date = 2026-03-01", "date = 2026-03-01\ntown = 1"),
        ("[[session]]", "[[sesion]]"),
        ("setlist = []", "setlits = []"),
        ('title = "Low Water"', "title = Low"),
        ('name = "album"', "name = 'album'\nname = 'again'"),
    ],
)
def test_mistakes_are_told_as_of_the_whole_file_and_nothing_is_put(
    two: tuple[Store, Store], old: str, new: str
) -> None:
    wrong = AWKWARD.replace(old, new, 1)
    assert wrong != AWKWARD
    with pytest.raises(NotebookError) as plain, two[0].change("load") as change:
        apply_text(change, wrong, folder="/sessions", file="large.toml")
    with pytest.raises(NotebookError) as found:
        load_large(two[1], wrong)
    assert str(found.value) == str(plain.value)
    assert whole(two[1]) == Log()


def test_a_take_of_one_of_several_sessions_has_to_say_which(two: tuple[Store, Store]) -> None:
    several = AWKWARD + '\n[[session]]\nname = "day two"\n'
    with pytest.raises(LogbookError, match=r"line 18.*several sessions"):
        load_large(two[0], several)
