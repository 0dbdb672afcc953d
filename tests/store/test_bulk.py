"""Rows that go to the database together are told in the history as any others, and undone so."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

from logbook.errors import LogbookError
from logbook.records import AudioFile, Cue, Part, Song, Take, Version
from logbook.store.file_rows import add_files
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import put


def _song() -> Song:
    part = Part(name="guitar", takes=(Take(number=1),))
    return Song(title="Salt Road", versions=(Version(name="album", parts=(part,)),))


def _file(path: str) -> AudioFile:
    return AudioFile(
        path=path,
        folder="/boathouse",
        digest="aa" + path,
        tags=(("title", "Sält"), ("title", '"Two"')),
        ixml_circled=True,
        modified=1_790_000_000_123_456_789,
        cues=(Cue(frame=2**34, label="verse"), Cue(frame=5)),
    )


def _rows(store: Store, table: str) -> list[dict[str, object]]:
    with store.reading() as connection:
        found = connection.execute(text(f'SELECT * FROM "{table}" ORDER BY id'))
        return [dict(row._mapping) for row in found]


def test_the_history_says_of_them_what_it_says_of_rows_written_one_by_one(store: Store) -> None:
    with store.change("song add") as change:
        put(change, _song())
    take_id = int(str(_rows(store, "take")[0]["id"]))
    with store.change("one by one") as change:
        put(change, _file("a.wav"))
        put(change, _file("b.wav"))
    with store.change("together") as change:
        ids = add_files(change, [(_file("c.wav"), {}), (_file("d.wav"), {"take_id": take_id})])
    files = _rows(store, "audio_file")
    assert ids == [row["id"] for row in files[2:]]
    changes = [row for row in _rows(store, "change") if row["kind"] in ("audio_file", "cue")]
    singly = [row for row in changes if row["command_id"] == 2]
    together = [row for row in changes if row["command_id"] == 3]
    assert len(singly) == len(together) == 6
    first, loose, hung = singly[0], together[0], together[1]
    assert list(json.loads(str(loose["after"]))) == list(json.loads(str(first["after"])))
    same = {"path", "digest", "position"}
    for name, value in json.loads(str(first["after"])).items():
        if name not in same:
            assert json.loads(str(loose["after"]))[name] == value, name
    assert loose["label"] == str(first["label"]).replace("a.wav", "c.wav")
    assert loose["place"] == f"audio_file {ids[0]}"
    assert hung["label"] == "file d.wav of take 1, guitar, album, Salt Road"
    assert hung["place"] == f"song 1/version 1/part 1/take {take_id}/audio_file {ids[1]}"
    assert (loose["song_id"], hung["song_id"]) == (None, 1)
    cue = next(row for row in together if row["kind"] == "cue")
    before = next(row for row in singly if row["kind"] == "cue")
    assert cue["label"] == str(before["label"]).replace("a.wav", "c.wav")
    stored = {name: files[2][name] for name in json.loads(str(loose["after"]))}
    assert stored == json.loads(str(loose["after"])) | {"ixml_circled": stored["ixml_circled"]}
    assert bool(stored["ixml_circled"]) is True


def test_they_are_undone_and_their_numbers_never_given_again(store: Store) -> None:
    with store.change("import") as change:
        first = add_files(change, [(_file("a.wav"), {}), (_file("b.wav"), {})])
    undo(store)
    assert _rows(store, "audio_file") == [] == _rows(store, "cue")
    with store.change("import") as change:
        again = add_files(change, [(_file("a.wav"), {})])
        (later,) = add_files(change, [(_file("c.wav"), {})])
        done = put(change, _file("d.wav"))[0]
    assert len({*first, *again, later, done.id}) == 5
    assert done.id > later > max(first)


def test_one_that_is_there_already_is_refused_and_nothing_is_written(store: Store) -> None:
    with pytest.raises(LogbookError, match="there twice"), store.change("import") as change:
        add_files(change, [(_file("a.wav"), {}), (_file("a.wav"), {})])
    assert _rows(store, "audio_file") == []
    assert _rows(store, "command") == []
