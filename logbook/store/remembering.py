"""What was found about each song when it was last looked at, so as not to look again.

Conventions
-----------
Checking a whole log of thousands of songs takes longer than anybody waits, and almost nothing
of it changes between two checks. What a check found in a song is kept as text; whatever
changes the song, or a person, instrument, tuning or session it names, throws it away in the
same transaction (see `changing`). `rules` names the rules that were applied: findings of other
rules do not count. It is derived data: no history, not exported, and gone without loss.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from sqlalchemy import Connection, text

from logbook.errors import LogbookError
from logbook.records import Log
from logbook.store.engine import spoken, writing
from logbook.store.reading import read_log
from logbook.store.sharing import in_parts
from logbook.store.store import Store

BATCH = 50


def each_song(
    store: Store,
    rules: str,
    look: Callable[[Log], str],
    advance: Callable[[int], None] = lambda count: None,
) -> Iterator[tuple[str, str]]:
    """Title and findings of every song, in order; `look` is asked about those that changed.

    `look` is a module's function, since many songs are looked at on all processors; it gets a
    slice with the one song in it. `advance` is told how many are done. If the log may not be
    written, everything still works and nothing is remembered.
    """
    with store.reading() as connection:
        titles = [
            (row[0], row[1])
            for row in connection.exec_driver_sql("SELECT id, title FROM song ORDER BY id")
        ]
        seen = int(
            connection.exec_driver_sql("SELECT COALESCE(MAX(id), 0) FROM command").scalar() or 0
        )
        known: dict[int, str] = {
            row[0]: row[1]
            for row in connection.execute(
                text("SELECT song_id, findings FROM checked WHERE rules = :rules"),
                {"rules": rules},
            )
        }
        stale = [song_id for song_id, _ in titles if song_id not in known]
        advance(len(titles) - len(stale))
        batches = [stale[start : start + BATCH] for start in range(0, len(stale), BATCH)]
        fresh: dict[int, str] = {}
        looked = in_parts(store, connection, partial(_look_at, look), batches)
        for ids, findings in zip(batches, looked, strict=True):
            fresh.update(zip(ids, findings, strict=True))
            advance(len(ids))
    # Somebody who may only read the log checks it all the same.
    with contextlib.suppress(LogbookError):
        _remember(store, rules, fresh, seen)
    known |= fresh
    for song_id, title in titles:
        yield title, known[song_id]


def _look_at(look: Callable[[Log], str], connection: Connection, ids: Sequence[int]) -> list[str]:
    log = read_log(connection, ids)
    return [look(replace(log, songs=(song,))) for song in log.songs]


def _remember(store: Store, rules: str, fresh: dict[int, str], seen: int) -> None:
    if not fresh:
        return
    with spoken(), writing(store.engine, store.dialect) as connection:
        # What others changed while we looked is looked at again the next time.
        moved = connection.execute(
            text("SELECT DISTINCT song_id FROM change WHERE command_id > :seen"), {"seen": seen}
        ).scalars()
        touched = set(moved)
        if None in touched:
            return
        rows = [
            {"song": song_id, "rules": rules, "findings": findings}
            for song_id, findings in fresh.items()
            if song_id not in touched
        ]
        if not rows:
            return
        connection.execute(text("DELETE FROM checked WHERE song_id = :song"), rows)
        connection.execute(
            text(
                "INSERT INTO checked (song_id, rules, findings) SELECT id, :rules, :findings"
                " FROM song WHERE id = :song"
            ),
            rows,
        )
