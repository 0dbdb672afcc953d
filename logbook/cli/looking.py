"""Looking at songs with the checks' eyes, and remembering what was found.

Whatever brings many songs into the log at once looks at them right away, so that a `check` later
only has to look at what changed since, however large the log is.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from logbook.cli.asking import progress
from logbook.cli.log import opened

if TYPE_CHECKING:
    from logbook.checking import Problem
    from logbook.records import Log
    from logbook.store.store import Store


def look_at_songs(store: Store) -> list[tuple[Problem, ...]]:
    """Return what the checks find in every song, looking only at those that changed."""
    from logbook.checking.remembered import from_text, rules_name
    from logbook.store.finding import names_in
    from logbook.store.remembering import each_song

    with store.reading() as connection:
        count = len(names_in(connection, "song"))
    with progress(count, "checking") as advance:
        found = each_song(store, rules_name(), _look, advance)
        return [from_text(text) for _, text in found]


def _look(log: Log) -> str:
    """Return what the checks find in the one song of a slice, as text."""
    from logbook.checking import check_song
    from logbook.checking.remembered import to_text

    return to_text(check_song(log, log.songs[0]))


def contradictions(store: Store) -> Counter[Problem]:
    """Return every contradiction of the log, to be held against those of another moment."""
    from logbook.checking.problem import CONTRADICTS

    found = look_at_songs(store)
    return Counter(each for problems in found for each in problems if each.kind == CONTRADICTS)


def look_at_sessions(store: Store) -> tuple[Problem, ...]:
    """Return what the checks find in the paper work of the sessions."""
    from logbook.checking.sessions import check_sessions
    from logbook.store.reading import read_rows

    with store.reading() as connection:
        return check_sessions(row.record for row in read_rows(connection, "session"))


def look_ahead() -> None:
    """Look at the songs that a command has just brought in or changed."""
    with opened() as store:
        look_at_songs(store)
