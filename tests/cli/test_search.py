"""`search` on the sample session."""

from __future__ import annotations

import json

import pytest

from logbook.cli.main import run

pytestmark = pytest.mark.usefixtures("sample")

Capture = pytest.CaptureFixture[str]


def test_words_are_found_in_notes_with_the_place_they_stand_at(capsys: Capture) -> None:
    assert run(["search", "motor"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said == (
        "Low Tide Ledger / EP / guitar / take 1, take notes: the neighbour's outboard motor"
    )


def test_every_word_has_to_stand_there_whatever_its_case(capsys: Capture) -> None:
    assert run(["search", "BUZZ", "low", "--json"]) == 0
    hits = json.loads(capsys.readouterr().out)
    assert {hit["kind"] for hit in hits} == {"instrument", "punch_in"}
    assert run(["search", "buzz", "lantern"]) == 0
    assert "nothing in the log holds buzz lantern" in capsys.readouterr().out


def test_no_more_than_asked_for(capsys: Capture) -> None:
    assert run(["search", "the", "--limit", "2", "--json"]) == 0
    said = capsys.readouterr()
    assert len(json.loads(said.out)) == 2
    assert "only the first 2 are shown; --limit 8 shows more" in " ".join(said.err.split())


def test_where_all_is_shown_nothing_is_said_of_more(capsys: Capture) -> None:
    assert run(["search", "motor", "--limit", "1"]) == 0
    assert "shown" not in capsys.readouterr().err


@pytest.mark.parametrize("words", [["search"], ["search", " "], ["search", "x", "--limit", "0"]])
def test_what_cannot_be_looked_for(words: list[str], capsys: Capture) -> None:
    assert run(words) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
