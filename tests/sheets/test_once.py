"""What is worked out once for several sheets is what would be worked out anew."""

from __future__ import annotations

import gc
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from logbook.notebook.read import read_log
from logbook.records import Log
from logbook.sheets.book import IN_THE_BOOK
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.once import once

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "sample_session" / "session.toml").read_text(encoding="utf-8")


def page(log: Log, kind: str) -> str:
    drawn = draw_sheet(make_sheet(kind, log, Wanted(log.songs[0].title)), "html", Look())
    assert isinstance(drawn, str)
    return drawn


def changed(log: Log) -> Log:
    """The log with another capo and other notes on every part of its first song."""
    song = log.songs[0]
    versions = tuple(
        replace(
            version,
            parts=tuple(
                replace(part, capo="3" if part.capo else "", notes="moved")
                for part in version.parts
            ),
        )
        for version in song.versions
    )
    return replace(log, songs=(replace(song, versions=versions),))


def forget_everything() -> None:
    for each in gc.get_objects():
        if type(each) is type(lru_cache(forget_everything)):
            each.cache_clear()


def test_an_answer_is_kept_by_the_objects_asked_about() -> None:
    asked: list[tuple[object, ...]] = []

    @once(2)
    def answer(*given: object) -> list[object]:
        asked.append(given)
        return list(given)

    one, same = ["x"], ["x"]
    assert answer(one) is answer(one)
    assert answer(same) == answer(one)
    assert answer(same) is not answer(one)
    assert len(asked) == 2
    answer(("y",))  # and now the first is forgotten
    answer(one)
    assert len(asked) == 4


def test_pages_made_after_others_are_those_that_are_made_anew() -> None:
    """Sheets of the song as it was, then as it is: nothing that was kept comes through."""
    old = read_log(TEXT)
    before = {kind: page(old, kind) for kind in IN_THE_BOOK}
    new = changed(old)
    after = {kind: page(new, kind) for kind in IN_THE_BOOK}
    forget_everything()
    again = changed(read_log(TEXT))  # of the same texts, and other objects
    assert {kind: page(again, kind) for kind in IN_THE_BOOK} == after
    assert all(before[kind] != after[kind] for kind in ("player", "lesson", "live"))
