"""Every sheet of every log that can be, in every form: a page or a plain sentence, no traceback."""

from __future__ import annotations

import json
import tempfile
from html.parser import HTMLParser
from pathlib import Path

from hypothesis import HealthCheck, given, settings

from logbook.errors import LogbookError
from logbook.records import Log
from logbook.sheets.book import plan_book
from logbook.sheets.book_files import write_book
from logbook.sheets.catalog import SHEETS, draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from tests.drawn import any_log

SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much)


@given(any_log())
@settings(max_examples=40, deadline=None, suppress_health_check=SLOW)
def test_every_sheet_of_any_log_can_be_drawn_in_every_form(log: Log) -> None:
    for song in log.songs:
        for kind in SHEETS:
            try:
                sheet = make_sheet(kind, log, Wanted(song.title))
            except LogbookError:
                if kind != "live":  # an arrangement may be one that cannot be
                    raise
                continue
            for form in ("text", "markdown", "html", "json"):
                drawn = draw_sheet(sheet, form, Look(left_handed=len(song.title) % 2 == 0))
                assert isinstance(drawn, str)
                if form == "json":
                    assert json.loads(drawn)["sheet"] == kind
                if form == "html":
                    HTMLParser().feed(drawn)


@given(any_log())
@settings(max_examples=15, deadline=None, suppress_health_check=SLOW)
def test_any_log_makes_a_book_and_the_same_one_again(log: Log) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)

        def write() -> tuple[int, int]:
            done = write_book(plan_book(log), folder, Look(), lambda total: lambda count: None)
            return done.written, done.unchanged

        taken = [
            song
            for song in log.songs
            if any(part.takes for version in song.versions for part in version.parts)
        ]
        things = (log.sessions, log.instruments, log.people, log.projects, log.setlists, taken)
        pages = 1 + 4 * len(log.songs) + sum(map(len, things))
        assert write() == (pages, 0)
        assert write() == (0, pages)
        assert len(list(folder.rglob("*.html"))) == pages
