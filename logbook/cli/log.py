"""Opening the log a command is for, and the place in it that is meant.

Heavy libraries are imported where they are used, so that a quick command stays quick.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.cli.printing import remark

if TYPE_CHECKING:
    from logbook.store.changing import Change
    from logbook.store.finding import LogPlace
    from logbook.store.here import Here
    from logbook.store.store import Store


@dataclass
class Settings:
    """What was said before any command: which log, and the command as it was given.

    `pager` is whether long answers may go through it, `verbose` whether slow commands say so.
    `written` is whether the command has changed the log for good, whatever happens after.
    """

    db: str = ""
    command: str = ""
    written: bool = False
    verbose: bool = False
    ascii: bool = False
    pager: bool = True


settings = Settings()


def written() -> None:
    """Remember that something was written for good."""
    settings.written = True


@contextmanager
def opened(*, create: bool = True) -> Iterator[Store]:
    """Open the log that `--db` or LOGBOOK_DB names, or the usual one."""
    from logbook.store.lifecycle import open_log

    with open_log(settings.db or None, create=create, notice=remark, on_commit=written) as store:
        yield store


@contextmanager
def changing() -> Iterator[tuple[Store, Change]]:
    """Open the log for one transaction, recorded in its history under the command as given."""
    with opened() as store, store.change(settings.command) as change:
        yield store, change


def place_of(
    here: Here, song: str = "", version: str = "", part: str = "", session: str = ""
) -> LogPlace:
    """Return the place that is meant: what is said, and `here` for what is not.

    Another song than the current one has nothing of the current one below it.
    """
    from logbook.store.finding import LogPlace

    if song and song != here.song:
        return LogPlace(song, version, part, session=session or here.session)
    if version and version != here.version:
        return LogPlace(here.song, version, part, session=session or here.session)
    return LogPlace(
        here.song, version or here.version, part or here.part, session=session or here.session
    )
