"""The credits sheet: the credits room's words in blocks, and its data whole."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from logbook.crediting.credits import STANDING
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import Log, Project, Song, Track
from logbook.sheets.blocks import Heading, Paragraph, Table
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"))


def text(log: Log = LOG, title: str = "Low Tide Ledger") -> str:
    drawn = draw_sheet(make_sheet("credits", log, Wanted(title)), "text", Look())
    assert isinstance(drawn, str)
    return drawn


def test_everybody_is_named_by_role_by_person_and_on_the_sleeve() -> None:
    sheet = make_sheet("credits", LOG, Wanted("Low Tide Ledger"))
    roles, people = [block for block in sheet.blocks if isinstance(block, Table)]
    assert ("performer, guitar", "Ina Ock") in roles.rows
    assert ("engineer", "Bertil") in roles.rows
    assert people.rows[0][0] == "Bertil"
    assert any(
        isinstance(block, Paragraph) and block.text.startswith("Written by Ina Ock and Tam.")
        for block in sheet.blocks
    )


def test_the_sheet_says_what_it_is_not() -> None:
    assert " ".join(STANDING.split()) in " ".join(text().split())


def test_what_is_missing_and_what_the_shares_make_is_said() -> None:
    said = text()
    assert "Still to ask" in said
    assert "The song has no ISWC" in said
    assert "Ina Ock, writer: 1/2 (50 %)" in said


def test_the_release_is_named_where_there_is_just_one() -> None:
    assert "release  Slack Water" in text()
    again = Project(title="Best of", tracks=(Track(song="Low Tide Ledger", version="EP"),))
    assert "Slack Water" not in text(replace(LOG, projects=(*LOG.projects, again)))


def test_a_song_without_versions_has_credits_too() -> None:
    sheet = make_sheet("credits", Log(songs=(Song(title="Air"),)), Wanted("Air"))
    headings = [block.text for block in sheet.blocks if isinstance(block, Heading)]
    assert headings == ["Air", "The song", "Still to ask"]


def test_the_data_is_that_of_the_credits_command() -> None:
    drawn = draw_sheet(make_sheet("credits", LOG, Wanted("Varnish")), "json", Look())
    assert isinstance(drawn, str)
    data = json.loads(drawn)
    assert data["sheet"] == "credits"
    (version,) = data["versions"]
    assert version["song"] == "Varnish"
    assert version["shares_check"]["writers_total"] == "1"
    assert version["standing"] == STANDING


def test_a_song_that_is_not_there_is_answered_with_those_that_are() -> None:
    with pytest.raises(LogbookError, match="Low Tide Ledger, Lantern on the Slip"):
        make_sheet("credits", LOG, Wanted("x"))
